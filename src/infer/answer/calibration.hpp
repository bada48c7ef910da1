// How often soil alone was right at the probability it gave, at stops with observed bedrock (cross-validation).
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
    std::size_t right = 0;  ///< stops at which it was the observed unit
};

/// Uses stops with observed bedrock and notes on soil. Each is judged by signatures learnt without its block, and
/// without the observed bedrock. Bins from 0 to 0.5, 0.7, 0.85, 0.95 and 1; empty bins are kept.
std::vector<CalibrationBin> calibration(const Fit::Reckoning& reckoning);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
