#include "io/map_reader.hpp"

#include <cmath>
#include <functional>
#include <memory>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "io/ogr_shapes.hpp"
#include "io/place_limits.hpp"
#include "io/polygon_screen.hpp"
#include "io/source_crs.hpp"
#include "io/standard_columns.hpp"
#include "io/table.hpp"

namespace subcrop::io {

namespace {

/// The polygons of a geometry in their order; `others` is set where it has parts of another kind.
void collect(const OGRGeometry& geometry, std::vector<Polygon>& polygons, bool& others) {
    if (geometry.IsEmpty()) return;
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (geometry.hasCurveGeometry(TRUE)) {
        const std::unique_ptr<OGRGeometry> straight(geometry.getLinearGeometry());
        if (straight) collect(*straight, polygons, others);
    } else if (type == wkbPolygon || type == wkbTriangle) {
        polygons.push_back(polygon_of(*geometry.toPolygon()));
    } else if (type == wkbPolyhedralSurface || type == wkbTIN) {
        for (const OGRPolygon* part : *geometry.toPolyhedralSurface()) collect(*part, polygons, others);
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* part : *geometry.toGeometryCollection()) collect(*part, polygons, others);
    } else {
        others = true;
    }
}

bool may_hold_polygons(OGRwkbGeometryType type) {
    switch (wkbFlatten(type)) {
        case wkbUnknown:
        case wkbPolygon:
        case wkbMultiPolygon:
        case wkbGeometryCollection:
        case wkbCurvePolygon:
        case wkbMultiSurface:
        case wkbSurface:
        case wkbPolyhedralSurface:
        case wkbTIN:
        case wkbTriangle:
            return true;
        default:
            return false;
    }
}

/// False, and `box` as it was, where a corner cannot be a place.
bool add_to_box(const Polygon& polygon, Box& all) {
    bool sound = true;
    Box box;
    auto walk = [&](const Ring& ring, bool shell) {
        for (const Point p : ring) {
            if (!on_earth(p)) {
                sound = false;
                return;
            }
            if (shell) box.add(p);
        }
    };
    walk(polygon.shell, true);
    for (const Ring& hole : polygon.holes) walk(hole, false);
    if (sound && !box.empty()) all.add(box);
    return sound;
}

/// Degrees of a map across the date line run on beyond 180: else its middle and its extent would be those of the globe.
void run_on_across_date_line(MapTable& map) {
    if (!map.crs->geographic() || map.box.width() <= 180) return;
    const auto run_on = [](Point p) { return p.x < 0 ? Point{p.x + 360, p.y} : p; };
    Box box;
    for (const model::MapPolygon& entry : map.polygons) {
        for (const Point p : entry.polygon.shell) box.add(run_on(p));
    }
    if (box.width() >= 180) return;
    for (model::MapPolygon& entry : map.polygons) {
        for (Point& p : entry.polygon.shell) p = run_on(p);
        for (Ring& hole : entry.polygon.holes) {
            for (Point& p : hole) p = run_on(p);
        }
    }
    map.box = box;
}

}  // namespace

MapTable read_map(const SurveyFile& file, ProblemLog& problems) {
    const MapDescription& description = *file.map;
    Table table(open_layer(file, description), description, "map", problems);
    MapTable map;
    map.source = table.source();
    map.place = table.place();
    const OGRwkbGeometryType type = table.layer().GetGeomType();
    // Before the columns: a format without a schema, such as GeoJSON, has none where it has no rows.
    if (table.layer().GetFeatureCount(TRUE) == 0)
        throw Error(table.place(), "the map is empty", "Check that it is the right file and layer.");
    if (type == wkbNone) {
        throw Error(table.place(), "the map must be polygons, and this table has no geometry",
                    "Name the layer of map unit polygons.");
    }
    if (!may_hold_polygons(type)) {
        throw Error(table.place(),
                    "the map must be polygons, and each row of this layer is a " + plain_geometry_name(type),
                    "Name the layer of map unit polygons.");
    }
    const Column unit = table.require("unit");
    map.unit_column = unit.name;
    map.crs = source_crs(file, description, table);

    std::unordered_map<std::string, model::UnitIndex> index;
    const GIntBig count = table.layer().GetFeatureCount(FALSE);
    if (count > 0) map.polygons.reserve(static_cast<std::size_t>(count));
    std::size_t rows = 0;
    std::string code;
    std::vector<Polygon> parts;
    while (table.next()) {
        ++rows;
        code = table.text(unit);
        parts = table.plain_polygons();
        const OGRGeometry* geometry = parts.empty() ? table.geometry() : nullptr;
        if (parts.empty() && (geometry == nullptr || geometry->IsEmpty())) {
            table.report(Severity::error, {}, code, "the map row has no polygon and is left out",
                         "Draw it or delete the row.");
            continue;
        }
        bool others = false;
        if (parts.empty()) collect(*geometry, parts, others);
        if (parts.empty()) {
            table.report(Severity::error, {}, code,
                         "the map row is no polygon but a " + plain_geometry_name(geometry->getGeometryType()) +
                             " and is left out",
                         "Keep polygons only in the map layer.");
            continue;
        }
        if (others) {
            table.report(Severity::warning, {}, code,
                         "the map row mixes polygons with points or lines; only the polygons are used",
                         "Keep polygons only in the map layer.");
        }
        if (code.empty()) {
            table.report(Severity::error, unit, {}, "the polygon names no map unit and is left out",
                         "Write the unit's code.");
            continue;
        }
        const auto [entry, fresh] = index.emplace(code, static_cast<model::UnitIndex>(map.codes.size()));
        if (fresh) map.codes.push_back(code);
        for (Polygon& part : parts) {
            if (!add_to_box(part, map.box)) {
                table.report(Severity::error, {}, code,
                             "a corner of the polygon is no place on Earth (infinite, or thousands of times too far "
                             "off); the polygon is left out",
                             "Redraw the polygon.");
                continue;
            }
            map.polygons.push_back({entry->second, table.row(), std::move(part)});
        }
    }
    if (rows == 0) throw Error(table.place(), "the map is empty", "Check that it is the right file and layer.");
    if (map.polygons.empty()) {
        throw Error(table.place(), "none of its " + std::to_string(rows) + " rows is a usable polygon of a map unit",
                    "Check the geometry and the column '" + map.unit_column + "'.");
    }
    run_on_across_date_line(map);
    if (map.crs->projected()) {
        // Most likely the working system. The stops take longer to read, so that a core would lie idle meanwhile: 0.3 s
        // of a run on 100,000 polygons.
        PolygonScreen screen;
        for (const model::MapPolygon& entry : map.polygons)
            map.surely_valid.push_back(screen.surely_valid(entry.polygon));
    }
    return map;
}

}  // namespace subcrop::io
