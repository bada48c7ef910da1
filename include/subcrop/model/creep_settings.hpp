// How far soil creeps down a slope.
#pragma once

#include <optional>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// Soil of a place comes from upslope: from a distance d in proportion to exp(-d / L), with L = K S / P.
/// S: slope; K: a constant of the soil; P: rate at which rock becomes soil, which falls off as exp(-h / h0) with
/// thickness h. (In steady creep soil moves at K S / h for h / P years.) Source: Heimsath, Dietrich, Nishiizumi &
/// Finkel 1997, Nature 388:358-361. Their figures, from memory: K 25 to 50 cm2 a year, 77 m a million years without
/// cover, h0 43 cm. They make L 21 to 41 m on a slope of 0.2 below 50 cm of cover.
struct CreepSettings {
    /// L on a slope of 0.2 below 50 cm of cover; 0: no creep. Absent: of 0, 25 and 60 m the one that hidden stops
    /// support best (about the lower end of the above, and 1.5 times the upper).
    std::optional<double> length_m{};
    double steepest =
        0.3;  ///< beyond this slope (tangent) L grows no further: soil gets thin (common practice, no source)
    double thickness_cm =
        43;  ///< h0: so much more cover, and L is 2.7 times as long, up to 2 times in all; 0: no matter
    /// Hollows gather soil from farther up, noses shed it sideways: L is taken 1 - `curvature_m` x curvature along the
    /// contour times, between 0.5 and 2 (common practice, no source); 0: no matter.
    double curvature_m = 25;
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
