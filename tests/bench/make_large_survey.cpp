// Makes an invented survey of any size to measure speed on.
//
//     make_large_survey --stops 1000000 --polygons 100000 --out build/bench/large_survey [--units 20] [--seed 1]
//     [--hard]
//
// `--hard`: hardly two stops are alike. Colours lie between the chips; plants are noted; sand, silt and clay are
// measured to a decimal at every stop. Traverses of 500 stops run nearly straight across polygons of 132 vertices.
// Writes stops.gpkg (layer `stops`, EPSG:4326), map.gpkg (layer `units`, EPSG:32633), legend.csv and survey.json. The
// same options give the same survey.
#include <gdal_priv.h>
#include <ogr_spatialref.h>
#include <ogrsf_frmts.h>

#include <charconv>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <stdexcept>
#include <string>

#include "bench/invented_ground.hpp"
#include "bench/invented_soil.hpp"
#include "bench/invented_stops.hpp"

namespace {

using namespace subcrop;
using namespace subcrop::bench;

struct Options {
    std::size_t stops = 1'000'000;
    std::size_t polygons = 100'000;
    std::size_t units = 20;
    std::uint64_t seed = 1;
    bool hard = false;
    std::filesystem::path out;
};

template <class Number>
Number number(const std::string& text) {
    Number value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size() || value == 0) {
        throw std::runtime_error("'" + text + "' is not a whole number above 0");
    }
    return value;
}

Options read_options(int count, char** words) {
    Options options;
    for (int i = 1; i < count; i += 2) {
        const std::string name = words[i];
        if (name == "--hard") {
            options.hard = true;
            --i;
            continue;
        }
        if (i + 1 == count) throw std::runtime_error("a value is wanted after " + name);
        const std::string value = words[i + 1];
        if (name == "--stops") {
            options.stops = number<std::size_t>(value);
        } else if (name == "--polygons") {
            options.polygons = number<std::size_t>(value);
        } else if (name == "--units") {
            options.units = number<std::size_t>(value);
        } else if (name == "--seed") {
            options.seed = number<std::uint64_t>(value);
        } else if (name == "--out") {
            options.out = value;
        } else {
            throw std::runtime_error("there is no option " + name + ": --stops --polygons --units --seed --out --hard");
        }
    }
    if (options.out.empty()) throw std::runtime_error("name the folder to write: --out FOLDER");
    return options;
}

std::string unit_code(std::size_t unit) {
    char text[32];
    std::snprintf(text, sizeof text, "U%02zu", unit + 1);
    return text;
}

OGRSpatialReference reference(int code) {
    OGRSpatialReference crs;
    if (crs.importFromEPSG(code) != OGRERR_NONE)
        throw std::runtime_error("PROJ does not know EPSG:" + std::to_string(code));
    crs.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    return crs;
}

void must(bool good, const std::string& what) {
    if (!good) throw std::runtime_error(what + ": " + CPLGetLastErrorMsg());
}

/// A GeoPackage of one layer, filled in one transaction.
class LayerFile {
public:
    LayerFile(const std::filesystem::path& path, const char* layer, int epsg, OGRwkbGeometryType type)
        : crs_(reference(epsg)) {
        std::filesystem::remove(path);
        GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
        set_.reset(driver->Create(path.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
        must(set_ != nullptr, path.string());
        layer_ = set_->CreateLayer(layer, &crs_, type, nullptr);
        must(layer_ != nullptr, layer);
    }
    void add_field(const char* name, OGRFieldType type) {
        OGRFieldDefn field(name, type);
        must(layer_->CreateField(&field) == OGRERR_NONE, name);
    }
    OGRLayer& start() {
        must(set_->StartTransaction() == OGRERR_NONE, "transaction");
        return *layer_;
    }
    void finish() {
        must(set_->CommitTransaction() == OGRERR_NONE, "commit");
        CPLErrorReset();
        set_->FlushCache();
        must(CPLGetLastErrorType() < CE_Failure, "flush");
        set_.reset();
    }

private:
    OGRSpatialReference crs_;
    GDALDatasetUniquePtr set_;
    OGRLayer* layer_ = nullptr;
};

void write_map(const InventedGround& ground, const std::filesystem::path& path) {
    LayerFile file(path, "units", 32633, wkbPolygon);
    file.add_field("unit", OFTString);
    OGRLayer& layer = file.start();
    for (std::size_t i = 0; i < ground.polygon_count(); ++i) {
        const Ring ring = ground.polygon(i);
        auto shell = std::make_unique<OGRLinearRing>();
        shell->setNumPoints(static_cast<int>(ring.size()), FALSE);
        for (std::size_t v = 0; v < ring.size(); ++v) shell->setPoint(static_cast<int>(v), ring[v].x, ring[v].y);
        auto polygon = std::make_unique<OGRPolygon>();
        polygon->addRingDirectly(shell.release());
        OGRFeature feature(layer.GetLayerDefn());
        feature.SetGeometryDirectly(polygon.release());
        feature.SetField(0, unit_code(ground.drafted(i)).c_str());
        must(layer.CreateFeature(&feature) == OGRERR_NONE, "polygon " + std::to_string(i));
    }
    file.finish();
}

void set_text(OGRFeature& feature, int field, const std::string& text) {
    if (text.empty()) {
        feature.SetFieldNull(field);
    } else {
        feature.SetField(field, text.c_str());
    }
}

void write_stops(const InventedGround& ground, const Options& options, const std::filesystem::path& path) {
    LayerFile file(path, "stops", 4326, wkbPoint);
    for (const char* name : {"stop", "traverse"}) file.add_field(name, OFTString);
    file.add_field("seq", OFTInteger);
    file.add_field("date", OFTDate);
    file.add_field("position_sd_m", OFTReal);
    for (const char* name :
         {"landform", "colour_moist", "colour_dry", "texture", "effervescence", "fragment_kind", "unit_seen"}) {
        file.add_field(name, OFTString);
    }
    if (options.hard) {
        file.add_field("plants", OFTString);
        for (const char* name : {"sand_pct", "silt_pct", "clay_pct"}) file.add_field(name, OFTReal);
    }
    const OGRSpatialReference from = reference(32633);
    const OGRSpatialReference to = reference(4326);
    const std::unique_ptr<OGRCoordinateTransformation> to_degrees(OGRCreateCoordinateTransformation(&from, &to));
    must(to_degrees != nullptr, "from UTM to degrees");
    const InventedSoils soils(options.units, options.seed + 10, options.hard);
    WalkOptions ways;
    if (options.hard) ways = {.stops_in_traverse = 500, .turn_rad = 0.02};
    OGRLayer& layer = file.start();
    walk(
        ground, soils, options.stops, options.seed + 20,
        [&](const InventedStop& stop) {
            char text[48];
            OGRFeature feature(layer.GetLayerDefn());
            double x = stop.position.x;
            double y = stop.position.y;
            must(to_degrees->Transform(1, &x, &y) == TRUE, "a stop from UTM to degrees");
            feature.SetGeometryDirectly(new OGRPoint(x, y));
            std::snprintf(text, sizeof text, "T%05zu-%02zu", stop.traverse, stop.seq);
            feature.SetField(0, text);
            std::snprintf(text, sizeof text, "T%05zu", stop.traverse);
            feature.SetField(1, text);
            feature.SetField(2, static_cast<int>(stop.seq));
            feature.SetField(3, stop.date.c_str());
            feature.SetField(4, stop.position_sd_m);
            set_text(feature, 5, stop.soil.landform);
            set_text(feature, 6, stop.soil.colour_moist);
            set_text(feature, 7, stop.soil.colour_dry);
            set_text(feature, 8, stop.soil.texture);
            set_text(feature, 9, stop.soil.effervescence);
            set_text(feature, 10, stop.soil.fragment_kind);
            set_text(feature, 11, stop.rock_seen ? unit_code(stop.rock) : std::string());
            if (options.hard) {
                set_text(feature, 12, stop.soil.plants);
                for (int i = 0; i < 3; ++i)
                    feature.SetField(13 + i, (*stop.soil.sand_silt_clay)[static_cast<std::size_t>(i)]);
            }
            must(layer.CreateFeature(&feature) == OGRERR_NONE, "stop");
        },
        ways);
    file.finish();
}

void write_text_files(const Options& options) {
    std::ofstream legend(options.out / "legend.csv");
    legend << "unit,name\n";
    for (std::size_t unit = 0; unit < options.units; ++unit) {
        legend << unit_code(unit) << ",Invented unit " << unit + 1 << "\n";
    }
    std::ofstream survey(options.out / "survey.json");
    survey << R"({
  "title": "Invented survey of )"
           << options.stops << R"( stops",
  "crs": "EPSG:32633",
  "stops": {"source": "stops.gpkg", "layer": "stops"},
  "map": {"source": "map.gpkg", "layer": "units", "contact_sd_m": 25},
  "legend": {"source": "legend.csv"},
  "results": "results"
}
)";
    must(legend.good() && survey.good(), "legend.csv and survey.json");
}

}  // namespace

int main(int count, char** words) {
    try {
        const Options options = read_options(count, words);
        GDALAllRegister();
        CPLSetConfigOption("OGR_SQLITE_SYNCHRONOUS", "OFF");
        std::filesystem::create_directories(options.out);
        const InventedGround ground(options.polygons, options.units, options.seed, options.hard);
        write_map(ground, options.out / "map.gpkg");
        write_stops(ground, options, options.out / "stops.gpkg");
        write_text_files(options);
        std::printf("%zu stops, %zu polygons in %s\n", options.stops, ground.polygon_count(), options.out.c_str());
        return 0;
    } catch (const std::exception& error) {
        std::fprintf(stderr, "make_large_survey: %s\n", error.what());
        return 1;
    }
}
