// How different the soils of every two units are, and the factor that this gives a blend of soils.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/model/stop.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

class Separation {
public:
    Separation() = default;  ///< all alike
    explicit Separation(std::size_t units) : units_(units), squared_(units * units, 0.0) {}
    /// Squared distance of the means of two units' soils in standard deviations.
    double& at(std::size_t a, std::size_t b) { return squared_[a * units_ + b]; }
    double at(std::size_t a, std::size_t b) const { return squared_.empty() ? 0 : squared_[a * units_ + b]; }

    /// A blend in n equal parts of Gaussian soils of one covariance has the density Z f_1^(1/n) ... f_n^(1/n). This is
    /// ln Z, the sum over all pairs of their squared distance over 2 n^2.
    double log_scale(std::span<const model::UnitIndex> sources) const {
        double sum = 0;
        for (std::size_t i = 0; i < sources.size(); ++i) {
            for (std::size_t m = i + 1; m < sources.size(); ++m) {
                if (sources[i] != sources[m])
                    sum += at(static_cast<std::size_t>(sources[i]), static_cast<std::size_t>(sources[m]));
            }
        }
        return sum / (2 * static_cast<double>(sources.size() * sources.size()));
    }

private:
    std::size_t units_ = 0;
    std::vector<double> squared_;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
