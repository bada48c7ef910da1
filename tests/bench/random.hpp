// Random numbers that are the same with every standard library, whose distributions are not.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <random>
#include <span>

namespace subcrop::bench {

class Random {
public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}

    /// In [0, 1).
    double uniform() { return static_cast<double>(engine_() >> 11) * 0x1.0p-53; }
    double uniform(double low, double high) { return low + (high - low) * uniform(); }
    /// In [0, count).
    std::size_t index(std::size_t count) { return static_cast<std::size_t>(uniform() * static_cast<double>(count)); }
    bool chance(double probability) { return uniform() < probability; }
    /// Normal, by Box and Muller 1958.
    double normal(double mean, double sd) {
        const double radius = std::sqrt(-2 * std::log(1 - uniform()));
        return mean + sd * radius * std::cos(2 * std::numbers::pi * uniform());
    }
    /// An index drawn with probability in proportion to its weight.
    std::size_t weighted(std::span<const double> weights) {
        double total = 0;
        for (const double weight : weights) total += weight;
        double left = uniform() * total;
        for (std::size_t i = 0; i + 1 < weights.size(); ++i) {
            left -= weights[i];
            if (left < 0) return i;
        }
        return weights.size() - 1;
    }

private:
    std::mt19937_64 engine_;
};

}  // namespace subcrop::bench
