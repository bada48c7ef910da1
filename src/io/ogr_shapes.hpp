// Lines and polygons of GDAL as plain geometry.
#pragma once

#include <ogr_geometry.h>

#include "subcrop/core/geometry.hpp"

namespace subcrop::io {

Line line_of(const OGRSimpleCurve& curve);
/// Rings closed where they were not, holes without points left out. The polygon has a shell.
Polygon polygon_of(const OGRPolygon& source);

}  // namespace subcrop::io
