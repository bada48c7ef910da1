// Small functions of planar geometry for several folders.
//
//     double off_m = nearest_on(track, place).off_m;  // metres from the track
//     bool kept_out = inside(no_go, place);
//     bool touches = meet(box_of(ring), box);
#pragma once

#include <cstddef>
#include <limits>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// The place on a line nearest to a given place.
struct NearestOnLine {
    double off_m = std::numeric_limits<double>::infinity();  ///< infinite: the line has no edge
    double along_m = 0;                                      ///< from the line's start
    std::size_t edge = 0;                                    ///< from vertex edge - 1 to vertex edge
};
/// The first of several equally near.
NearestOnLine nearest_on(const Line& line, Point place);

/// The place at this length from the line's start; an end of the line if it is shorter.
Point place_along(const Line& line, double along_m);
/// The line between two places along it, with all vertices between them.
Line part_of(const Line& line, double from_m, double to_m);

/// A place exactly on the boundary may count as inside or outside.
bool inside(const Ring& ring, Point place);
bool inside(const Polygon& polygon, Point place);

/// Places on a square lattice of this step that lie inside; the lattice starts half a step from the box's corner. May
/// be empty if the polygon is narrower than a step.
std::vector<Point> places_in(const Polygon& polygon, double step_m);

Box box_of(std::span<const Point> points);
Box box_of(const MultiPolygon& ground);
/// Also where they touch.
bool meet(const Box& a, const Box& b);

}  // namespace subcrop
SUBCROP_EXPORT_END
