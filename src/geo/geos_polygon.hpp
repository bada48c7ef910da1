// Our polygons as GEOS has them, and back.
#pragma once

#include "geo/geos_handle.hpp"
#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

/// Null where GEOS refuses a ring.
GeosGeometry geos_polygon(const GeosContext& context, const Polygon& polygon);

/// Adds every polygon of a geometry, parts of collections too; what has no area is passed over.
void append_polygons(const GeosContext& context, const GEOSGeometry* geometry, MultiPolygon& result);

}  // namespace subcrop::geo
