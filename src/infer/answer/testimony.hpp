// The evidence of the stops on the units below them, as used by every stage of the answer.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::infer {

struct Testimony {
    std::size_t units = 0;            ///< distinguished by the answer
    std::vector<std::uint32_t> stop;  ///< its number in the survey
    std::vector<Point> place;
    std::vector<double> position_sd_m;
    std::vector<std::uint16_t> fold;            ///< group of blocks, for cross-validation
    std::vector<std::uint8_t> observed;         ///< not 0: bedrock was observed
    std::vector<std::vector<Point>> soil_from;  ///< places upslope whose soils are blended; empty: its own place
    std::vector<float> soil;                    ///< stops x units: ln likelihood of the soil, up to a constant a stop
    std::vector<float> soil_below;              ///< the same for the unit below the stop, if soil may have crept
    std::vector<float> bedrock;                 ///< the same for observed bedrock; zeros if none was observed

    std::size_t size() const { return stop.size(); }

    /// Stops x units: likelihoods relative to the largest. The ln likelihood of soil (`soil` or `soil_below`) is
    /// multiplied by `share`.
    std::vector<float> likelihoods(const std::vector<float>& of_soil, double share) const {
        std::vector<float> result(of_soil.size());
        for (std::size_t i = 0; i < size(); ++i) {
            float greatest = -1e30f;
            for (std::size_t k = i * units; k < (i + 1) * units; ++k) {
                result[k] = static_cast<float>(share) * of_soil[k] + bedrock[k];
                greatest = std::max(greatest, result[k]);
            }
            for (std::size_t k = i * units; k < (i + 1) * units; ++k) result[k] = std::exp(result[k] - greatest);
        }
        return result;
    }
};

/// Likelihood of a stop without the draft: by the units' shares of the area alone.
inline double pooled_likelihood(const std::vector<double>& shares, const float* likelihood) {
    double sum = 0;
    for (std::size_t k = 0; k < shares.size(); ++k) sum += shares[k] * static_cast<double>(likelihood[k]);
    return sum;
}

}  // namespace subcrop::infer
