#include "geo/faces.hpp"

#include "geo/geos_polygon.hpp"

namespace subcrop::geo {

std::vector<Enclosed> enclosed_by(const GeosContext& context, std::span<const Line> lines) {
    const GeosGeometry all = geos_lines(context, lines);
    const GeosGeometry cut = owned(context, all ? GEOSUnaryUnion_r(context.get(), all.get()) : nullptr);
    if (!cut) geos_failed(context, "cut the map's lines where they meet");
    const GEOSGeometry* const one = cut.get();
    const GeosGeometry enclosed = owned(context, GEOSPolygonize_r(context.get(), &one, 1));
    if (!enclosed) geos_failed(context, "find the areas that lines enclose");
    std::vector<Enclosed> result;
    const int count = GEOSGetNumGeometries_r(context.get(), enclosed.get());
    for (int i = 0; i < count; ++i) {
        const GEOSGeometry* area = GEOSGetGeometryN_r(context.get(), enclosed.get(), i);
        GeosGeometry inside = owned(context, GEOSPointOnSurface_r(context.get(), area));
        MultiPolygon polygon;
        append_polygons(context, area, polygon);
        if (!inside || polygon.size() != 1) continue;
        result.push_back({std::move(polygon[0]), std::move(inside)});
    }
    return result;
}

}  // namespace subcrop::geo
