// The area within a varying distance of a line, and repair of polygons, both for moved contacts, by GEOS.
//
//     MultiPolygon zone = zone_about(contact_line, half_widths);  // one width a vertex
//     if (!is_valid(polygon)) parts = made_valid(polygon);
//
// Safe from many threads. Cost of a zone: about 50 us for each vertex that is used. Vertices that change neither course
// nor width by more than a twentieth of the width are skipped.
#pragma once

#include <span>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// The area within `half_widths_m[i]` of vertex i, and between two vertices within a linearly interpolated distance.
/// Circles are drawn as 32-gons about them. `half_widths_m`: one a vertex, or a single one for the whole line; greater
/// than 0. Valid polygons that touch in points at most.
MultiPolygon zone_about(const Line& line, std::span<const double> half_widths_m);

/// Area in square metres, without holes.
double area_m2(const Polygon& polygon);

/// A place inside, well away from the boundary.
Point place_inside(const Polygon& polygon);

/// Rings closed, simple, holes inside the shell, as the Simple Features standard (OGC 06-103r4) has it.
bool is_valid(const Polygon& polygon);

/// The same area as valid polygons, if rings cross themselves or one another; empty if nothing with an area is left.
MultiPolygon made_valid(const Polygon& polygon);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
