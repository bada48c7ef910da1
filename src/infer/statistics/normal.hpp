// The standard normal distribution.
#pragma once

#include <cmath>
#include <numbers>

namespace subcrop::infer {

inline double normal_density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * std::numbers::pi); }
inline double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

}  // namespace subcrop::infer
