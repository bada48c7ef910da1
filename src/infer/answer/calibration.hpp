// How often the soil alone was right at the probability it gave, where rock was seen and kept back.
#pragma once

#include <cstddef>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct CalibrationBin {
    double low = 0, high = 1;  ///< probability of the likeliest unit, low <= p < high (the last one includes 1)
    std::size_t stops = 0;
    double mean_p = 0;
    std::size_t right = 0;  ///< stops at which it was the rock seen
};

/// Stops where rock was seen and something of the soil noted, each judged by signatures without its block of ground and
/// without the rock itself. Bins from 0 to 0.5, 0.7, 0.85, 0.95 and 1; those without a stop too.
std::vector<CalibrationBin> calibration(const Fit::Reckoning& reckoning);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
