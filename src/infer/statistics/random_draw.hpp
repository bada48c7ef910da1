// Random numbers that are the same on every machine. The standard library's distributions do not guarantee that.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>

namespace subcrop::infer {

/// SplitMix64 (Steele, Lea and Flood 2014, Fast splittable pseudorandom number generators).
class RandomDraw {
public:
    explicit RandomDraw(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next() {
        std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
        return z ^ (z >> 31);
    }
    /// At least 0, below 1.
    double share() { return static_cast<double>(next() >> 11) * 0x1p-53; }
    /// Below `bound`; its bias is below 1e-9 for any number of stops.
    std::size_t below(std::size_t bound) { return static_cast<std::size_t>(next() % bound); }
    /// Standard normal, by Box and Muller (1958).
    double normal() {
        const double radius = std::sqrt(-2 * std::log(1 - share()));
        return radius * std::cos(2 * std::numbers::pi * share());
    }

private:
    std::uint64_t state_;
};

}  // namespace subcrop::infer
