// The shortest way on foot round areas that nobody may enter.
//
//     WaysRound ways(survey.no_go);
//     Line way = ways.between(car_park, stop);  // two places: straight; more: it bends at the others; empty: none
//
// The shortest way past polygons bends only at their corners (Lozano-Perez and Wesley 1979, Communications of the ACM
// 22:560). It is sought by A* (Hart, Nilsson and Raphael 1968) among the corners of the areas that lie in the way, at
// first none. Areas that the way found crosses are added until it crosses none. Not good at: one area with very many
// corners, as each of them may have to be tried.
#pragma once

#include <memory>
#include <span>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// Whether the straight line between two places meets one of the areas.
bool crosses(Point from, Point to, std::span<const Polygon> areas);

class WaysRound {
public:
    /// Ways bend this far from the corners of an area, at most 0.5 m less where its outline is simplified.
    static constexpr double margin_m = 2;

    explicit WaysRound(std::span<const Polygon> areas);
    ~WaysRound();
    WaysRound(const WaysRound&) = delete;
    WaysRound& operator=(const WaysRound&) = delete;

    /// All places of the shortest way, with both ends. Empty if there is none: one end lies inside an area, or areas
    /// enclose it. One thread at a time.
    Line between(Point from, Point to) const;

private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
