// Our polygons as GEOS has them, and back.
#pragma once

#include <span>
#include <vector>

#include "geo/geos_handle.hpp"
#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

/// Null if GEOS refuses a ring.
GeosGeometry geos_polygon(const GeosContext& context, const Polygon& polygon);

/// Adds every polygon of a geometry, parts of collections too; parts without area are ignored.
void append_polygons(const GeosContext& context, const GEOSGeometry* geometry, MultiPolygon& result);

/// As one geometry, each by itself.
GeosGeometry geos_lines(const GeosContext& context, std::span<const Line> lines);

/// All of the polygons as one geometry, which takes them. Null where GEOS fails.
GeosGeometry geos_union(const GeosContext& context, std::vector<GeosGeometry> polygons);

/// Throws Error: what GEOS could not do.
[[noreturn]] void geos_failed(const GeosContext& context, const char* what);

}  // namespace subcrop::geo
