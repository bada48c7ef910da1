// How far soil creeps down a slope.
#pragma once

#include <optional>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// Soil of a place comes from upslope: from a distance d in proportion to exp(-d / L), with L = K S / P.
/// S: slope; K: a constant of the soil; P: rate at which rock becomes soil, which falls off as exp(-h / h0) with
/// thickness h. (In steady creep soil moves at K S / h for h / P years.) Source: Heimsath, Dietrich, Nishiizumi &
/// Finkel 1997, Nature 388:358-361. Their figures, from memory: K 25 to 50 cm2 a year, 77 m in a million years without
/// cover, h0 43 cm. They make L 21 to 41 m on a slope of 0.2 below 50 cm of cover.
struct CreepSettings {
    /// L on a slope of 0.2 below 50 cm of cover; 0: no creep. Absent: 0, 25 or 60 m, whichever hidden stops support
    /// best (25 m is about the lower end of the range above, 60 m about 1.5 times the upper end).
    std::optional<double> length_m{};
    double steepest =
        0.3;  ///< above this slope (tangent) L no longer grows, because soil gets thin (common practice, no source)
    double thickness_cm = 43;  ///< h0: L grows as exp(h / h0) with cover, up to 2 times in all; 0: not used
    /// Hollows collect soil from farther up; noses lose it sideways. L is multiplied by 1 - `curvature_m` x curvature
    /// along the contour, limited to 0.5 to 2 (common practice, no source). 0: not used.
    double curvature_m = 25;
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
