#include "subcrop/io/plane_trace.hpp"

#include <gdal_alg.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <utility>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/ogr_shapes.hpp"
#include "io/pending_file.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/layer_writer.hpp"

namespace subcrop::io {

namespace {

using Json = nlohmann::ordered_json;

/// 90 % of a normal distribution is within this many standard errors.
constexpr double ninety_percent = 1.645;
constexpr float no_value = -3e38f;

/// A figure at every cell of the terrain as a raster in memory, and its contours.
class Figures {
public:
    Figures(const geo::HeightGrid& grid, const std::function<double(Point, double)>& figure,
            const std::function<bool(Point)>& wanted) {
        start_gdal();
        const auto columns = static_cast<int>(grid.columns()), rows = static_cast<int>(grid.rows());
        raster_.reset(
            GetGDALDriverManager()->GetDriverByName("MEM")->Create("", columns, rows, 1, GDT_Float32, nullptr));
        if (!raster_)
            throw Error({}, "the memory does not suffice for the trace", "Cut the terrain to the area you need.");
        double placed[6] = {grid.west(), grid.cell_m(), 0, grid.north(), 0, -grid.cell_m()};
        raster_->SetGeoTransform(placed);
        GDALRasterBand* band = raster_->GetRasterBand(1);
        band->SetNoDataValue(static_cast<double>(no_value));
        std::vector<float> line(static_cast<std::size_t>(columns));
        for (int r = 0; r < rows; ++r) {
            for (int c = 0; c < columns; ++c) {
                const auto height = grid.at(c, r);
                const Point place = grid.centre(c, r);
                line[static_cast<std::size_t>(c)] =
                    height && wanted(place) ? static_cast<float>(figure(place, *height)) : no_value;
            }
            if (band->RasterIO(GF_Write, 0, r, columns, 1, line.data(), columns, 1, GDT_Float32, 0, 0) != CE_None) {
                throw Error({}, "the memory does not suffice for the trace");
            }
        }
    }

    std::vector<Line> lines_at_zero() const {
        std::vector<Line> lines;
        contours({"FIXED_LEVELS=0"}, wkbLineString, [&](const OGRFeature& feature) {
            Line line = line_of(*feature.GetGeometryRef()->toLineString());
            if (line.size() > 1) lines.push_back(std::move(line));
        });
        return lines;
    }

    MultiPolygon ground_between(double low, double high) const {
        MultiPolygon ground;
        const std::string levels = "FIXED_LEVELS=" + std::to_string(low) + ',' + std::to_string(high);
        contours({levels, "POLYGONIZE=YES", "ELEV_FIELD_MIN=0", "ELEV_FIELD_MAX=1"}, wkbMultiPolygon,
                 [&](const OGRFeature& feature) {
                     // The class in the middle, by its upper bound: GDAL 3.6 gives the lowest class the lower bound 0.
                     if (std::abs(feature.GetFieldAsDouble(1) - high) > 1e-4) return;
                     for (const OGRPolygon* part : *feature.GetGeometryRef()->toMultiPolygon())
                         ground.push_back(polygon_of(*part));
                 });
        return ground;
    }

private:
    void contours(const std::vector<std::string>& words, OGRwkbGeometryType type,
                  const std::function<void(const OGRFeature&)>& take) const {
        GdalMessages messages;
        const GDALDatasetUniquePtr store(
            GetGDALDriverManager()->GetDriverByName("Memory")->Create("", 0, 0, 0, GDT_Unknown, nullptr));
        OGRLayer* layer = store->CreateLayer("contours", nullptr, type);
        for (const char* name : {"low", "high"}) {
            OGRFieldDefn field(name, OFTReal);
            layer->CreateField(&field);
        }
        CPLStringList options;
        for (const std::string& word : words) options.AddString(word.c_str());
        options.SetNameValue("NODATA", std::to_string(no_value).c_str());
        if (GDALContourGenerateEx(raster_->GetRasterBand(1), OGRLayer::ToHandle(layer), options.List(), nullptr,
                                  nullptr) != CE_None) {
            throw Error({}, "the trace could not be drawn (" + messages.last() + ")");
        }
        for (const auto& feature : *layer) take(*feature);
    }

    GDALDatasetUniquePtr raster_;
};

double length_of(const Line& line) {
    double length = 0;
    for (std::size_t i = 1; i < line.size(); ++i) length += distance(line[i - 1], line[i]);
    return length;
}

double area_of(const Ring& ring) {
    double twice = 0;
    for (std::size_t i = 1; i < ring.size(); ++i) {
        twice += (ring[i - 1].x - ring[0].x) * (ring[i].y - ring[0].y) -
                 (ring[i].x - ring[0].x) * (ring[i - 1].y - ring[0].y);
    }
    return std::abs(twice) / 2;
}

void write_geopackage(const std::filesystem::path& target, const std::string& crs_wkt, const PlaneTrace& trace,
                      const geo::Plane& plane) {
    const std::vector<FieldDefinition> fields{
        {.name = "strike_deg",
         .type = FieldType::real,
         .description = "Strike of the plane by the right-hand rule, degrees."},
        {.name = "dip_deg", .type = FieldType::real, .description = "Dip of the plane, degrees."}};
    LayerDefinition lines{.name = "trace",
                          .description = "Where the plane cuts the land surface.",
                          .geometry = GeometryKind::line,
                          .fields = fields};
    lines.fields.push_back({.name = "length_m", .type = FieldType::real, .description = "Length in metres."});
    LayerDefinition bands{.name = "trace_band",
                          .description = "The 90 % zone of the trace.",
                          .geometry = GeometryKind::multipolygon,
                          .fields = fields};
    bands.fields.push_back({.name = "area_m2", .type = FieldType::real, .description = "Area in square metres."});
    LayerWriter writer(target, crs_wkt, {.domains = {}, .layers = {lines, bands}});
    RowBatch rows;
    for (const Line& line : trace.lines) {
        rows.line(line)
            .real_or_absent(geo::strike_deg(plane))
            .real(geo::dip_deg(plane))
            .real(length_of(line))
            .end_row();
    }
    writer.append(0, std::move(rows));
    if (!trace.band.empty()) {
        RowBatch band;
        band.multipolygon(trace.band)
            .real_or_absent(geo::strike_deg(plane))
            .real(geo::dip_deg(plane))
            .real(trace.band_area_m2)
            .end_row();
        writer.append(1, std::move(band));
    }
    writer.finish();
}

class DegreeWriter {
public:
    DegreeWriter(const std::string& crs_wkt, const std::vector<Point>& sample)
        : to_degrees_(geo::Crs(crs_wkt), geo::Crs("EPSG:4326"), sample, {.allow_ballpark = true}) {}

    Json coordinates(Line points) const {
        to_degrees_.apply(points);
        Json list = Json::array();
        for (const Point& p : points) list.push_back({rounded(p.x), rounded(p.y)});
        return list;
    }

private:
    /// A ten-millionth of a degree is a centimetre.
    static double rounded(double degrees) { return std::round(degrees * 1e7) / 1e7; }
    geo::Transformation to_degrees_;
};

/// Shells run against the clock, holes with it (RFC 7946, section 3.1.6).
Ring turned(Ring ring, bool against_clock) {
    double twice = 0;
    for (std::size_t i = 1; i < ring.size(); ++i) {
        twice += (ring[i - 1].x - ring[0].x) * (ring[i].y - ring[0].y) -
                 (ring[i].x - ring[0].x) * (ring[i - 1].y - ring[0].y);
    }
    if ((twice > 0) != against_clock) std::reverse(ring.begin(), ring.end());
    return ring;
}

void write_geojson(const std::filesystem::path& target, const std::string& crs_wkt, const PlaneTrace& trace,
                   const geo::Plane& plane) {
    std::vector<Point> sample;
    for (const Line& line : trace.lines) sample.insert(sample.end(), {line.front(), line.back()});
    for (const Polygon& part : trace.band) sample.push_back(part.shell.front());
    if (sample.size() > 1000) sample.resize(1000);
    if (sample.empty()) sample.push_back({plane.through[0], plane.through[1]});
    const DegreeWriter degrees(crs_wkt, sample);
    Json features = Json::array();
    const auto add = [&](const char* kind, const char* type, Json coordinates) {
        Json properties{{"kind", kind}, {"strike_deg", nullptr}, {"dip_deg", geo::dip_deg(plane)}};
        if (const auto strike = geo::strike_deg(plane)) properties["strike_deg"] = *strike;
        features.push_back({{"type", "Feature"},
                            {"properties", std::move(properties)},
                            {"geometry", {{"type", type}, {"coordinates", std::move(coordinates)}}}});
    };
    for (const Line& line : trace.lines) add("trace", "LineString", degrees.coordinates(line));
    if (!trace.band.empty()) {
        Json parts = Json::array();
        for (const Polygon& part : trace.band) {
            Json rings = Json::array();
            rings.push_back(degrees.coordinates(turned(part.shell, true)));
            for (const Ring& hole : part.holes) rings.push_back(degrees.coordinates(turned(hole, false)));
            parts.push_back(std::move(rings));
        }
        add("trace_band", "MultiPolygon", std::move(parts));
    }
    const Json collection{{"type", "FeatureCollection"}, {"features", std::move(features)}};
    write_whole(target, [&](std::ostream& out) { out << collection.dump() << '\n'; });
}

}  // namespace

PlaneTrace trace_plane(const geo::Plane& plane, const geo::Terrain& terrain, double terrain_sd_m, double reach_m) {
    const auto wanted = [&](Point p) {
        return !(reach_m > 0) || distance(p, {plane.through[0], plane.through[1]}) <= reach_m;
    };
    PlaneTrace trace;
    trace.lines = Figures(
                      terrain.grid(), [&](Point p, double z) { return geo::distance_m(plane, p.x, p.y, z); }, wanted)
                      .lines_at_zero();
    for (const Line& line : trace.lines) trace.length_m += length_of(line);
    const double ground_sd = terrain_sd_m * plane.normal[2];
    if (!plane.covariance && !(ground_sd > 0)) return trace;
    const auto in_errors = [&](Point p, double z) {
        const double sd = std::hypot(geo::distance_sd_m(plane, p.x, p.y, z).value_or(0), ground_sd);
        const double away = geo::distance_m(plane, p.x, p.y, z);
        return std::clamp(sd > 0 ? away / sd : away > 0 ? 1e6 : -1e6, -1e6, 1e6);
    };
    trace.band = Figures(terrain.grid(), in_errors, wanted).ground_between(-ninety_percent, ninety_percent);
    for (const Polygon& part : trace.band) {
        trace.band_area_m2 += area_of(part.shell);
        for (const Ring& hole : part.holes) trace.band_area_m2 -= area_of(hole);
    }
    return trace;
}

void write_plane_trace(const std::filesystem::path& target, const std::string& crs_wkt, const PlaneTrace& trace,
                       const geo::Plane& plane) {
    const std::string ending = lower(target.extension().string());
    if (ending == ".gpkg") return write_geopackage(target, crs_wkt, trace, plane);
    if (ending == ".geojson" || ending == ".json") return write_geojson(target, crs_wkt, trace, plane);
    throw Error({.source = target.string()}, "a trace is written as GeoPackage or GeoJSON",
                "End the name in .gpkg or .geojson.");
}

}  // namespace subcrop::io
