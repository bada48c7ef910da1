// How far soil is taken to have crept down a slope.
#pragma once

#include <optional>

namespace subcrop::model {

/// The soil of a place comes from the ground above it, less of it from farther off: from a distance d up the slope in
/// proportion to exp(-d / L). In steady creep soil of thickness h moves at K S / h (S the slope, K a constant of the
/// ground) for the h / P years in which rock makes it anew, so that L = K S / P; and P falls off as exp(-h / h0)
/// (Heimsath, Dietrich, Nishiizumi & Finkel 1997, Nature 388:358-361). Their valley's figures (from memory: K 25 to 50
/// cm2 a year, 77 m a million years without cover, h0 43 cm) make L 21 to 41 m on a slope of 0.2 below 50 cm of cover.
struct CreepSettings {
    /// L on a slope of 0.2 below 50 cm of cover; 0: soil is taken to lie where it formed. Left open the stops
    /// themselves are asked: of no creep, 25 m and 60 m (about the lower end of the above, and half as much again as
    /// the upper) the one that their soil speaks for.
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
