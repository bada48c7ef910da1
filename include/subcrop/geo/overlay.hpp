// Intersection and difference of polygons, and the area nearer to some places than to others.
//
//     MultiPolygon both = common_ground({polygon}, {circle(centre, 400)});
//     MultiPolygon rest = ground_without({polygon}, {circle(centre, 400)});
//     MultiPolygon near = nearer_ground(places, chosen, polygon);  // nearer to a chosen place than to any other
//
// Safe from many threads. Invalid polygons are repaired first. Throws Error where GEOS fails. Cost: some 50 us for
// polygons of a hundred vertices; `nearer_ground` takes chosen places times places.
#pragma once

#include <cstdint>
#include <span>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// A circle as a polygon with 64 corners on it.
Polygon circle(Point centre, double radius_m);

/// Empty if the two share no area.
MultiPolygon common_ground(const MultiPolygon& one, const MultiPolygon& other);
MultiPolygon ground_without(const MultiPolygon& ground, const MultiPolygon& taken);

/// The area within `limit` that is nearer to a place with `chosen` not 0 than to any other place (Dirichlet 1850,
/// Voronoi 1908). A place that coincides with a chosen one is ignored.
MultiPolygon nearer_ground(std::span<const Point> places, std::span<const std::uint8_t> chosen, const Polygon& limit);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
