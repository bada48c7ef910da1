#include "fuzz/targets.hpp"

#include <gdal_utils.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <stdexcept>
#include <utility>

#include "io/gdal_support.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/fragments.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/field/written_place.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/io/survey_reader.hpp"
#include "subcrop/model/audit.hpp"
#include "subcrop/model/reduced.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::fuzz {

namespace {

namespace fs = std::filesystem;

const std::string survey_json = R"({"title": "fuzz", "crs": "EPSG:32633",
 "stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633", "columns": {"notes": "remarks"}},
 "horizons": {"source": "horizons.csv"}, "map": {"source": "map.geojson", "contact_sd_m": 30}, "legend": {"source": "legend.csv"},
 "evidence": [{"name": "xrf", "kind": "numeric", "columns": ["ni"], "scale": "log"}],
 "settings": {"false_discovery_rate": 0.1, "seed": 3, "move_contacts": false}, "results": "results"})";

const std::string stops_csv =
    "stop,x,y,traverse,seq,date,position_sd_m,landform,slope_deg,unit_seen,plants,plants_complete,remarks,ni\n"
    "001,500100,5200100,A,1,2026-05-01,5,shoulder,12,Kd,\"heather, bracken\",yes,wet,30\n"
    "002,500500,5200500,A,2,2026-05-01,,foot slope,3%,,ash; hazel,no,,< 5\n"
    "003,501500,5200500,B,1,,8,summit,,Jl,none seen,,\"a, \"\"b\"\"\",1.2e3\n";

const std::string horizons_csv =
    "stop,top_cm,bottom_cm,designation,colour_moist,colour_dry,texture,sand_pct,silt_pct,clay_pct,jar_sand_mm,jar_silt_"
    "mm,"
    "jar_clay_mm,fragments_pct,fragment_kind,fragment_shape,effervescence,minerals,redox,ph\n"
    "001,0,12,Ap,10YR 3/2,10YR 5/3,SIL,20,60,20,,,,5,schist,angular,NE,,,6.1\n"
    "001,12,40,2Bt1,7.5YR 4/4,,SICL,,,,10,14,6,30,limestone,rounded,ST,calcite,common distinct,7\n"
    "002,0,20,A,N 4/,5Y 5/2,very gravelly sandy loam,70,20,10,,,,40,basalt,,VS,,few,\n"
    "003,0,10 in,^Au,Gley 1 4/10Y,,C,,,,,,,,,,4,,,\n";

const std::string legend_csv =
    "unit,name,age_order,lithology,colour,cover,expected_colours,expected_textures,expected_plants,expected_reactions,"
    "expected_worth_stops\n"
    "Kd,Dolerite,2,dolerite,#557755,no,7.5YR 4/4; 5YR 4/6,C; CL,bracken,NE,3\n"
    "Jl,Limestone,1,limestone,\"200,180,90\",no,10YR 4/3,SIL,ash,ST,2\n";

const std::string map_geojson =
    R"({"type": "FeatureCollection", "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32633"}},
 "features": [
 {"type": "Feature", "properties": {"unit": "Kd"}, "geometry": {"type": "Polygon", "coordinates":
  [[[500000, 5200000], [501000, 5200000], [501000, 5201000], [500000, 5201000], [500000, 5200000]],
   [[500200, 5200200], [500200, 5200400], [500400, 5200400], [500400, 5200200], [500200, 5200200]]]}},
 {"type": "Feature", "properties": {"unit": "Jl"}, "geometry": {"type": "MultiPolygon", "coordinates":
  [[[[501000, 5200000], [502000, 5200000], [502000, 5201000], [501000, 5201000], [501000, 5200000]]],
   [[[500200, 5200200], [500400, 5200200], [500400, 5200400], [500200, 5200400], [500200, 5200200]]]]}}]})";

/// A sound survey in a folder of its own, of which one file is replaced at each run.
class Survey {
public:
    Survey() {
        std::string pattern = (fs::temp_directory_path() / "subcrop_fuzz_XXXXXX").string();
        if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no scratch folder");
        path_ = pattern;
        write("survey.json", survey_json);
        write("stops.csv", stops_csv);
        write("horizons.csv", horizons_csv);
        write("legend.csv", legend_csv);
        write("map.geojson", map_geojson);
    }
    Survey(const Survey&) = delete;
    Survey& operator=(const Survey&) = delete;
    ~Survey() {
        std::error_code none;
        fs::remove_all(path_, none);
    }

    void write(const std::string& name, std::string_view bytes) const {
        std::ofstream(path_ / name, std::ios::binary) << bytes;
    }
    std::string read(const std::string& name) const { return bytes_of(path_ / name); }
    void name_map(const std::string& file) const {
        std::string json = survey_json;
        json.replace(json.find("map.geojson"), std::string("map.geojson").size(), file);
        write("survey.json", json);
    }
    /// The map in another format of GDAL's.
    void translate(const std::string& driver, const std::string& name) const {
        io::start_gdal();
        const GDALDatasetUniquePtr input(GDALDataset::Open((path_ / "map.geojson").c_str(), GDAL_OF_VECTOR));
        CPLStringList words;
        for (const char* word : {"-f", driver.c_str(), "-nln", "units"}) words.AddString(word);
        GDALVectorTranslateOptions* options = GDALVectorTranslateOptionsNew(words.List(), nullptr);
        GDALDatasetH source = input.get();
        GDALClose(GDALVectorTranslate((path_ / name).c_str(), nullptr, 1, &source, options, nullptr));
        GDALVectorTranslateOptionsFree(options);
    }
    /// As a run does, up to the reckoning.
    void take_in() const {
        try {
            ProblemLog problems;
            Progress silent;
            model::Survey survey = io::read_survey(io::read_survey_file(path_ / "survey.json"), 1, problems, silent);
            const model::Reduced reduced = model::reduce(survey, problems);
            model::audit(survey, reduced, 1, problems);
            geo::UnitMapOptions options;
            options.contact_sd_m = survey.contact_sd_m;
            options.threads = 1;
            const geo::UnitMap map(std::move(survey.map), survey.units.size(), options, problems);
            for (const model::Stop& stop : survey.stops) (void)map.unit_at(stop.position);
            (void)problems.sorted();
        } catch (const Error&) {  // the answer to input that cannot be used
        }
    }

private:
    fs::path path_;
};

const std::vector<std::string> csv_words{",",
                                         "\"",
                                         "\n",
                                         "\r\n",
                                         ";",
                                         "\t",
                                         "nan",
                                         "-inf",
                                         "1e308",
                                         "-1e-320",
                                         "999999999999999999999",
                                         "\xEF\xBB\xBF",
                                         "\xff",
                                         "NULL",
                                         "10YR 5/4",
                                         "=1+1",
                                         "yes"};
const std::vector<std::string> json_words{"{",          "}",           "[",        "]",          "\"",
                                          ":",          ",",           "null",     "true",       "1e999",
                                          "-0",         "\\u0000",     "\\ud800",  "Polygon",    "GeometryCollection",
                                          "geometries", "coordinates", "features", "properties", "unit",
                                          "crs"};

Target file_target(const std::string& name, const std::string& file, std::vector<std::string> dictionary,
                   std::string seed) {
    const auto survey = std::make_shared<Survey>();
    if (seed.empty()) seed = survey->read(file);
    return {name, {std::move(seed)}, std::move(dictionary), [survey, file](std::string_view bytes) {
                survey->write(file, bytes);
                survey->take_in();
            }};
}

Target geopackage_target() {
    const auto survey = std::make_shared<Survey>();
    survey->translate("GPKG", "map.gpkg");
    survey->name_map("map.gpkg");
    return {
        "map_gpkg", {survey->read("map.gpkg")}, {"GP", "SELECT", "units", "geom"}, [survey](std::string_view bytes) {
            survey->write("map.gpkg", bytes);
            survey->take_in();
        }};
}

/// The three files of a shapefile one after the other, the lengths of the first two before them.
Target shapefile_target() {
    const auto survey = std::make_shared<Survey>();
    survey->translate("ESRI Shapefile", "map.shp");
    survey->name_map("map.shp");
    const std::string shp = survey->read("map.shp"), shx = survey->read("map.shx"), dbf = survey->read("map.dbf");
    std::string seed(8, '\0');
    const std::uint32_t lengths[2] = {static_cast<std::uint32_t>(shp.size()), static_cast<std::uint32_t>(shx.size())};
    std::memcpy(seed.data(), lengths, 8);
    seed += shp + shx + dbf;
    return {
        "map_shapefile", {seed}, {}, [survey](std::string_view bytes) {
            std::uint32_t parts[2] = {0, 0};
            std::memcpy(parts, bytes.data(), std::min<std::size_t>(bytes.size(), 8));
            bytes.remove_prefix(std::min<std::size_t>(bytes.size(), 8));
            for (std::size_t i = 0; i < 3; ++i) {
                const std::size_t length = i < 2 ? std::min<std::size_t>(parts[i], bytes.size()) : bytes.size();
                survey->write(std::string("map.") + (i == 0 ? "shp" : i == 1 ? "shx" : "dbf"), bytes.substr(0, length));
                bytes.remove_prefix(length);
            }
            survey->take_in();
        }};
}

template <class Read>
Target note_target(const std::string& name, std::vector<std::string> seeds, Read read) {
    return {name,
            std::move(seeds),
            {"/", "-", " ", "YR", "GLEY", "very", ",", "\xC2\xA0", "\xE2\x80\x93", "99999999999", "e9", "'"},
            read};
}

}  // namespace

Target target_named(const std::string& name) {
    if (name == "munsell") {
        return note_target(
            name, {"10YR 5/6 moist", "7,5YR 4,5/3-4/4 (d)", "Gley 1 4/10Y", "N 4/ to 5/", "2.5YR 3/4 dry; 5YR 4/6"},
            [](std::string_view text) {
                if (const auto read = field::parse_munsell(text)) {
                    for (const field::Munsell& chip : read.value->chips) (void)field::to_lab(chip);
                }
            });
    }
    if (name == "texture") {
        return note_target(name, {"GRV-SL", "very gravelly fine sandy loam", "SL/L", "silty clay loam", "SICL+"},
                           [](std::string_view text) { (void)field::parse_texture(text); });
    }
    if (name == "designation") {
        return note_target(name, {"2Bt'1", "E/Bt", "IIB21t", "^Ap", "3Cr", "Oi"},
                           [](std::string_view text) { (void)field::parse_designation(text); });
    }
    if (name == "plants") {
        return note_target(name,
                           {"heather, bracken (dominant) + 20 % moss", "Calluna vulgaris; Pteridium", "none seen"},
                           [](std::string_view text) { (void)field::read_plants(text); });
    }
    if (name == "notes") {
        return note_target(name,
                           {"VS", "strongly effervescent", "common distinct mottles", "limestone and chert", "f2d"},
                           [](std::string_view text) {
                               (void)field::read_effervescence(text);
                               (void)field::read_redox(text);
                               (void)field::parse_fragment_kind(text);
                           });
    }
    if (name == "places") {
        return note_target(
            name,
            {"45°12'20.7\"N 3°40'12.0\"E", "N 45 12.345 E 3 40.2", "31V 540595 6231941", "zone 31 south 540595 6231941",
             "lat -45,2 lon 3,67", "45d12m20.7s N 3d40m12s E", "6231841N 540346E"},
            [](std::string_view text) {
                const auto finite = [](double x, double y) { return std::abs(x) < 1e12 && std::abs(y) < 1e12; };
                if (const auto read = field::read_place(text); read && !finite(read.value->x, read.value->y))
                    std::abort();
                for (const field::Axis axis : {field::Axis::latitude, field::Axis::longitude})
                    if (const auto read = field::read_angle(text, axis); read && !(std::abs(*read.value) <= 180))
                        std::abort();
            });
    }
    if (name == "survey_json") return file_target(name, "survey.json", json_words, {});
    if (name == "legend_csv") return file_target(name, "legend.csv", csv_words, {});
    if (name == "stops_csv") return file_target(name, "stops.csv", csv_words, {});
    if (name == "horizons_csv") return file_target(name, "horizons.csv", csv_words, {});
    if (name == "map_geojson") return file_target(name, "map.geojson", json_words, {});
    if (name == "map_gpkg") return geopackage_target();
    if (name == "map_shapefile") return shapefile_target();
    throw std::out_of_range("there is no target '" + name + "'");
}

}  // namespace subcrop::fuzz
