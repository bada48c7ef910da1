// A draft made wrong on purpose, in known ways.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// A smooth random displacement with Gaussian correlation, by random Fourier features (Rahimi and Recht 2007).
class Warp {
public:
    /// `rms_m`: root mean square length of the displacement; 0: none. `reach_m`: correlation length.
    Warp(double rms_m, double reach_m, std::uint64_t seed);
    Point displaced(Point place) const;

private:
    struct Wave {
        double kx = 0, ky = 0, phase = 0;
    };
    std::array<std::array<Wave, 128>, 2> waves_{};
    double scale_ = 0;
};

/// Displaces every vertex. Edges are first cut into pieces of at most `step_m`, in the same way for both polygons that
/// share one.
std::vector<model::MapPolygon> warped(std::vector<model::MapPolygon> polygons, const Warp& warp, double step_m);

/// Gives the area of unit `from` within a disc to unit `to`.
std::vector<model::MapPolygon> relabelled(const std::vector<model::MapPolygon>& polygons, model::UnitIndex from,
                                          model::UnitIndex to, const Polygon& disc);

}  // namespace subcrop::infer
