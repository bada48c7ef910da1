// Areas drawn into a map of polygons: the polygons below give way, all edges stay shared.
//
//     std::vector<Redrawn> map = redraw(draft, areas, {.min_width_m = 40, .min_area_m2 = 6400});
//     double redrawn_m2 = 0;  // that had another unit before
//     for (const Redrawn& one : map) redrawn_m2 += one.redrawn_m2;
//
// All lines of the areas, and of the polygons that they meet, are cut where they meet, once. Each face that they
// enclose goes to one polygon. Connected faces of one unit become one. So two polygons share an edge to the last bit.
// Polygons that meet no area come out as they went in, byte for byte; of others every vertex that is still on an edge
// does.
//
// Not good at: polygons that overlap one another where an area meets them; the first of them keeps the common area.
// Cost: GEOS cuts and joins, 1 ms for an area that meets three polygons of 300 vertices.
#pragma once

#include <cstddef>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// What is smaller stays with, or falls to, what lies beside it.
struct LeastDrawn {
    double min_width_m = 0;  ///< a disc of this diameter must fit in
    double min_area_m2 = 0;
};

struct Redrawn {
    model::MapPolygon polygon;       ///< `row`: that of the largest part, 0 where there is none
    std::vector<std::size_t> parts;  ///< polygons of the map it took up or is cut from, ascending
    double redrawn_m2 = 0;           ///< of it that had another unit before
    bool as_it_was = true;           ///< one polygon of the map, untouched
};

/// `areas`: polygons with their unit, without overlap. The unit differs from the map's in most of each area.
/// Areas off the map are cut off. In the order of the map; what is new comes last. Throws Error where GEOS fails.
std::vector<Redrawn> redraw(const std::vector<model::MapPolygon>& map, const std::vector<model::MapPolygon>& areas,
                            const LeastDrawn& least);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
