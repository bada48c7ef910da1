// What is known of a horizon's grain size from several sources, each a normal distribution in ilr coordinates.
//
//     const std::array sources{feel_distribution(TextureClass::silt_loam), estimated_grain_size({.clay = 18})};
//     IlrDistribution both = combine(sources);          // narrower than either
//     double p = disagreement(sources[0], sources[1]);  // 0.7: the two may well be of one soil
#pragma once

#include <array>
#include <optional>
#include <span>

#include "subcrop/core/export.hpp"
#include "subcrop/field/texture.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// A class named by feel. In 7 of 10 cases it is the soil's class, else a neighbour in the triangle by shared border
/// (common practice, no source). Mean and covariance of this mixture of `class_distribution`s.
const IlrDistribution& feel_distribution(TextureClass texture_class);

/// Sieve, pipette or hydrometer figures: standard error 0.15 in each coordinate (common practice, no source).
IlrDistribution measured_grain_size(const GrainSize& grain_size);

/// Parts guessed in the hand, in percent of the fine earth; at least one given.
struct HandEstimate {
    std::optional<double> sand = {};
    std::optional<double> silt = {};
    std::optional<double> clay = {};
    double standard_error = 5;  ///< percent, of each part given; common practice for clay, no source
};

/// With a flat prior over grain sizes, a part that was not guessed is limited only by the others. If only one was
/// guessed, the posterior is a curved band across the ilr plane. The normal with its mean and covariance is wider.
IlrDistribution estimated_grain_size(const HandEstimate& estimate);

/// Product of the normals: the joint evidence of sources with independent errors. Their order does not matter, to the
/// last bit. A distribution that occurs twice is one source and counts once. At least one is needed.
IlrDistribution combine(std::span<const IlrDistribution> sources);

/// Probability that two sources for one soil differ at least this much by their errors alone (chi-square, two degrees
/// of freedom).
double disagreement(const IlrDistribution& first, const IlrDistribution& second);

/// Standard error of each part in percent, by the slope of `from_ilr` at the mean.
GrainSize standard_errors(const IlrDistribution& distribution);

/// Probability of each class: the normal integrated over its region, to about 0.001.
std::array<double, texture_class_count> class_probabilities(const IlrDistribution& distribution);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
