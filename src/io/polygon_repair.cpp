#include "io/polygon_repair.hpp"

#include <cmath>
#include <cstdio>
#include <memory>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/polygon_screen.hpp"

namespace subcrop::io {

namespace {

std::unique_ptr<OGRLinearRing> ogr_ring(const Ring& ring) {
    auto line = std::make_unique<OGRLinearRing>();
    line->setNumPoints(static_cast<int>(ring.size()), FALSE);
    for (std::size_t i = 0; i < ring.size(); ++i) line->setPoint(static_cast<int>(i), ring[i].x, ring[i].y);
    return line;
}

std::unique_ptr<OGRPolygon> ogr_polygon(const Polygon& polygon) {
    auto result = std::make_unique<OGRPolygon>();
    result->addRingDirectly(ogr_ring(polygon.shell).release());
    for (const Ring& hole : polygon.holes) result->addRingDirectly(ogr_ring(hole).release());
    return result;
}

Ring ring_of(const OGRLinearRing& line) {
    Ring ring(static_cast<std::size_t>(line.getNumPoints()));
    for (std::size_t i = 0; i < ring.size(); ++i) {
        ring[i] = {line.getX(static_cast<int>(i)), line.getY(static_cast<int>(i))};
    }
    return ring;
}

void collect(const OGRGeometry& geometry, std::vector<Polygon>& polygons) {
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (geometry.IsEmpty()) return;
    if (type == wkbPolygon) {
        const OGRPolygon& source = *geometry.toPolygon();
        Polygon polygon;
        polygon.shell = ring_of(*source.getExteriorRing());
        for (int i = 0; i < source.getNumInteriorRings(); ++i)
            polygon.holes.push_back(ring_of(*source.getInteriorRing(i)));
        if (twice_signed_area(polygon.shell) != 0) polygons.push_back(std::move(polygon));
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* part : *geometry.toGeometryCollection()) collect(*part, polygons);
    }
}

/// GEOS says "Self-intersection at or near point 5 5" or "Ring Self-intersection[5 5]".
void split_reason(const std::string& text, Repair& repair) {
    for (const char* mark : {" at or near point ", "["}) {
        const auto at = text.find(mark);
        if (at == std::string::npos) continue;
        repair.reason = lower(text.substr(0, at));
        Point p;
        if (std::sscanf(text.c_str() + at + std::string(mark).size(), "%lf %lf", &p.x, &p.y) == 2 &&
            std::isfinite(p.x) && std::isfinite(p.y)) {
            repair.position = p;
        }
        return;
    }
    repair.reason = lower(text);
}

}  // namespace

Repair repaired(const Polygon& polygon) {
    Repair repair;
    GdalMessages messages;
    const std::unique_ptr<OGRPolygon> geometry = ogr_polygon(polygon);
    if (polygon.shell.size() >= 4 && geometry->IsValid() != 0) {
        repair.was_valid = true;
        return repair;
    }
    split_reason(messages.last(), repair);
    CPLStringList options;
    options.SetNameValue("METHOD", "STRUCTURE");
    const std::unique_ptr<OGRGeometry> mended(geometry->MakeValid(options.List()));
    if (mended) collect(*mended, repair.polygons);
    return repair;
}

}  // namespace subcrop::io
