#include "geo/geos_polygon.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/error.hpp"

namespace subcrop::geo {

namespace {

GEOSGeometry* geos_ring(const GeosContext& context, const Ring& ring) {
    GEOSCoordSequence* sequence =
        GEOSCoordSeq_copyFromBuffer_r(context.get(), &ring[0].x, static_cast<unsigned>(ring.size()), 0, 0);
    return GEOSGeom_createLinearRing_r(context.get(), sequence);
}

Ring plain_ring(const GeosContext& context, const GEOSGeometry* ring) {
    const GEOSCoordSequence* sequence = GEOSGeom_getCoordSeq_r(context.get(), ring);
    unsigned size = 0;
    GEOSCoordSeq_getSize_r(context.get(), sequence, &size);
    Ring result(size);
    for (unsigned i = 0; i < size; ++i) GEOSCoordSeq_getXY_r(context.get(), sequence, i, &result[i].x, &result[i].y);
    return result;
}

}  // namespace

GeosGeometry geos_polygon(const GeosContext& context, const Polygon& polygon) {
    GEOSGeometry* shell = geos_ring(context, polygon.shell);
    std::vector<GEOSGeometry*> holes;
    for (const Ring& hole : polygon.holes) holes.push_back(geos_ring(context, hole));
    if (shell == nullptr || std::find(holes.begin(), holes.end(), nullptr) != holes.end()) {
        GEOSGeom_destroy_r(context.get(), shell);
        for (GEOSGeometry* hole : holes) GEOSGeom_destroy_r(context.get(), hole);
        return owned(context, nullptr);
    }
    return owned(context,
                 GEOSGeom_createPolygon_r(context.get(), shell, holes.data(), static_cast<unsigned>(holes.size())));
}

void append_polygons(const GeosContext& context, const GEOSGeometry* geometry, MultiPolygon& result) {
    if (geometry == nullptr || GEOSisEmpty_r(context.get(), geometry) == 1) return;
    const int type = GEOSGeomTypeId_r(context.get(), geometry);
    if (type == GEOS_POLYGON) {
        Polygon polygon{.shell = plain_ring(context, GEOSGetExteriorRing_r(context.get(), geometry)), .holes = {}};
        for (int i = 0; i < GEOSGetNumInteriorRings_r(context.get(), geometry); ++i)
            polygon.holes.push_back(plain_ring(context, GEOSGetInteriorRingN_r(context.get(), geometry, i)));
        result.push_back(std::move(polygon));
    } else if (type == GEOS_MULTIPOLYGON || type == GEOS_GEOMETRYCOLLECTION) {
        for (int i = 0; i < GEOSGetNumGeometries_r(context.get(), geometry); ++i)
            append_polygons(context, GEOSGetGeometryN_r(context.get(), geometry, i), result);
    }
}

GeosGeometry geos_lines(const GeosContext& context, std::span<const Line> lines) {
    std::vector<GEOSGeometry*> parts;
    for (const Line& line : lines) {
        GEOSCoordSequence* sequence =
            GEOSCoordSeq_copyFromBuffer_r(context.get(), &line[0].x, static_cast<unsigned>(line.size()), 0, 0);
        parts.push_back(GEOSGeom_createLineString_r(context.get(), sequence));
    }
    return owned(context, GEOSGeom_createCollection_r(context.get(), GEOS_MULTILINESTRING, parts.data(),
                                                      static_cast<unsigned>(parts.size())));
}

GeosGeometry geos_union(const GeosContext& context, std::vector<GeosGeometry> polygons) {
    std::vector<GEOSGeometry*> parts;
    for (GeosGeometry& polygon : polygons) parts.push_back(polygon.release());
    const GeosGeometry all =
        owned(context, GEOSGeom_createCollection_r(context.get(), GEOS_GEOMETRYCOLLECTION, parts.data(),
                                                   static_cast<unsigned>(parts.size())));
    return owned(context, all ? GEOSUnaryUnion_r(context.get(), all.get()) : nullptr);
}

void geos_failed(const GeosContext& context, const char* what) {
    throw Error({}, std::string("GEOS could not ") + what + (context.error().empty() ? "" : ": " + context.error()),
                "Repair the map's polygons and run again.");
}

}  // namespace subcrop::geo
