// Draws areas into a map of polygons. The polygons below are cut, and all edges stay shared.
//
//     std::vector<Redrawn> map = redraw(draft, areas, {.min_width_m = 40, .min_area_m2 = 6400});
//     double redrawn_m2 = 0;  // that had another unit before
//     for (const Redrawn& one : map) redrawn_m2 += one.redrawn_m2;
//
// The lines of the areas, and of the polygons that they meet, are cut once, where they meet. Each face goes to one
// polygon. Connected faces of one unit become one polygon. So two polygons share an edge to the last bit. Polygons that
// meet no area are unchanged, byte for byte. In the others every vertex that is still on an edge is unchanged.
//
// Not good at: polygons that overlap where an area meets them; the first of them keeps the common area. Cost: GEOS cuts
// and joins, 1 ms for an area that meets three polygons of 300 vertices.
#pragma once

#include <cstddef>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// Limits: a smaller part stays with its neighbour, or is given to it.
struct LeastDrawn {
    double min_width_m = 0;  ///< a disc of this diameter must fit in
    double min_area_m2 = 0;
};

struct Redrawn {
    model::MapPolygon polygon;       ///< `row`: of the largest part; 0: none
    std::vector<std::size_t> parts;  ///< polygons of the map that it includes or is cut from, ascending
    double redrawn_m2 = 0;           ///< area that had another unit before
    bool as_it_was = true;           ///< one polygon of the map, untouched
};

/// `areas`: polygons with their unit, without overlap. The unit differs from the map's in most of each area.
/// Areas off the map are cut off. In the order of the map; new polygons come last. Throws Error where GEOS fails.
std::vector<Redrawn> redraw(const std::vector<model::MapPolygon>& map, const std::vector<model::MapPolygon>& areas,
                            const LeastDrawn& least);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
