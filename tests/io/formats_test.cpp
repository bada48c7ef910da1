// The same three stops and the same map through every format that field books and maps come in.
#include <gmock/gmock.h>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::DoubleNear;
using testing::ElementsAre;
using testing::IsEmpty;

constexpr const char* places = R"({"type": "FeatureCollection", "features": [
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.004, 46.956]},
  "properties": {"stop": "007", "traverse": "T1", "seq": 1, "position_sd_m": 4.5, "slope_deg": 12, "unit_seen": "Kd",
   "plants_complete": "yes", "colour_moist": "10YR 5/6", "texture": "SIL", "fragments_pct": 12.5, "effervescence": "ST"}},
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.0141, 46.957]},
  "properties": {"stop": "008", "traverse": "T1", "seq": 2, "position_sd_m": null, "slope_deg": null, "unit_seen": null,
   "plants_complete": "no", "colour_moist": "7.5YR 4/4", "texture": null, "fragments_pct": null, "effervescence": null}},
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.02, 46.958]},
  "properties": {"stop": "Z\u00fcrg-9", "traverse": "T1", "seq": 3, "position_sd_m": 8, "slope_deg": 0, "unit_seen": "Jl",
   "plants_complete": null, "colour_moist": null, "texture": null, "fragments_pct": null, "effervescence": null}}]})";

struct Format {
    const char* driver;
    const char* stops;
    const char* map;
    std::vector<std::string> stop_options;
    const char* stop_keys;
    std::int64_t first_row;
};

void PrintTo(const Format& format, std::ostream* out) { *out << format.driver; }

class Formats : public testing::TestWithParam<Format> {};

TEST_P(Formats, GiveTheSameSurvey) {
    const Format& format = GetParam();
    const ScratchFolder folder;
    folder.translate(places, format.driver, format.stops, format.stop_options);
    const std::string map_driver = format.driver == std::string("CSV") ? "GPKG" : format.driver;
    // FlatGeobuf would put the rows in the order of its index.
    folder.translate(two_squares, map_driver, format.map,
                     map_driver == "FlatGeobuf" ? format.stop_options : std::vector<std::string>());
    const ReadSurvey read =
        read_all(folder, R"({"stops": {"source": ")" + std::string(format.stops) + '"' + format.stop_keys +
                             R"(}, "map": {"source": ")" + format.map + R"(", "contact_sd_m": 30}})");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    const model::Survey& survey = read.survey;
    EXPECT_EQ(survey.crs_name, "WGS 84 / UTM zone 33N");
    ASSERT_EQ(survey.stops.size(), 3U);
    ASSERT_EQ(survey.units.size(), 2U);
    EXPECT_EQ(survey.units[0].code, "Jl");
    EXPECT_EQ(survey.units[1].code, "Kd");
    ASSERT_EQ(survey.map.size(), 2U);
    EXPECT_EQ(survey.map[0].unit, 1);
    EXPECT_EQ(survey.map[0].polygon.shell.size(), 5U);
    EXPECT_EQ(survey.contact_sd_m, 30);

    const model::Stop& first = survey.stops[0];
    EXPECT_EQ(first.id, "007");
    EXPECT_EQ(first.row, format.first_row);
    // echo 46.956 15.004 | cs2cs -f %.3f EPSG:4326 EPSG:32633 (PROJ 9.1.1) gives 500304.352 5200274.576;
    // 46.957 15.0141 gives 501072.820 5200385.791.
    EXPECT_THAT(first.position.x, DoubleNear(500304.352, 0.001));
    EXPECT_THAT(first.position.y, DoubleNear(5200274.576, 0.001));
    EXPECT_THAT(survey.stops[1].position.x, DoubleNear(501072.820, 0.001));
    EXPECT_EQ(first.traverse.str(), "T1");
    EXPECT_EQ(first.seq, 1);
    EXPECT_EQ(first.position_sd_m, 4.5);
    EXPECT_EQ(survey.stops[1].position_sd_m, model::Settings{}.default_position_sd_m);
    EXPECT_EQ(first.slope_deg, 12);
    EXPECT_EQ(survey.stops[1].slope_deg, std::nullopt);
    EXPECT_EQ(survey.stops[2].slope_deg, 0);
    EXPECT_EQ(first.unit_seen, 1);
    EXPECT_EQ(survey.stops[1].unit_seen, model::no_unit);
    EXPECT_TRUE(first.plants_complete);
    EXPECT_FALSE(survey.stops[1].plants_complete);
    EXPECT_EQ(survey.stops[2].id, "Z\xC3\xBCrg-9");

    ASSERT_EQ(survey.horizons.size(), 2U);
    EXPECT_EQ(first.horizon_count, 1U);
    EXPECT_EQ(survey.stops[2].horizon_count, 0U);
    const model::Horizon& horizon = survey.horizons[first.first_horizon];
    EXPECT_EQ(horizon.colour_moist.str(), "10YR 5/6");
    EXPECT_EQ(horizon.texture.str(), "SIL");
    EXPECT_EQ(horizon.fragments_pct, 12.5);
    EXPECT_EQ(horizon.effervescence.str(), "ST");
    EXPECT_EQ(survey.horizons[survey.stops[1].first_horizon].colour_moist.str(), "7.5YR 4/4");
    EXPECT_EQ(survey.horizon_source, survey.stop_source);
}

INSTANTIATE_TEST_SUITE_P(
    Ogr, Formats,
    testing::Values(Format{"GPKG", "stops.gpkg", "map.gpkg", {}, "", 1},
                    Format{"CSV",
                           "stops.csv",
                           "map.gpkg",
                           {"-lco", "GEOMETRY=AS_XY"},
                           R"(, "x": "X", "y": "Y", "crs": "EPSG:4326")",
                           2},
                    Format{"ESRI Shapefile", "stops.shp", "map.shp", {"-lco", "ENCODING=UTF-8"}, "", 1},
                    Format{"GeoJSON", "stops.json", "squares.json", {}, "", 1},
                    Format{"FlatGeobuf", "stops.fgb", "map.fgb", {"-lco", "SPATIAL_INDEX=NO"}, "", 1},
                    Format{"GML", "stops.gml", "map.gml", {}, "", 0}),
    [](const testing::TestParamInfo<Format>& format) {
        std::string name = format.param.driver;
        std::erase(name, ' ');
        return name;
    });

TEST(Csv, SemicolonsDecimalCommasAByteOrderMarkAndQuotedLines) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv",
                 "\xEF\xBB\xBFStop;east;north;Slope_Deg;notes\r\n"
                 "007;500100,5;5200100;12,5;\"two\nlines; and \"\"quotes\"\"\"\r\n"
                 "A-2;501100;5200100;;<script>alert(1)</script>\r\n");
    const ReadSurvey read =
        read_all(folder, R"({"stops": {"source": "stops.csv", "x": "east", "y": "north", "crs": "EPSG:32633"}, )" +
                             std::string(two_squares_json) + "}");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    ASSERT_EQ(read.survey.stops.size(), 2U);
    EXPECT_EQ(read.survey.stops[0].id, "007");
    EXPECT_EQ(read.survey.stops[0].position, (Point{500100.5, 5200100}));
    EXPECT_EQ(read.survey.stops[0].slope_deg, 12.5);
    EXPECT_EQ(read.survey.stops[0].notes.str(), "two\nlines; and \"quotes\"");
    EXPECT_EQ(read.survey.stops[1].notes.str(), "<script>alert(1)</script>");
}

TEST(Spreadsheet, OfTextAndNumbersIsRead) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.translate(R"({"type": "FeatureCollection", "features": [
      {"type": "Feature", "geometry": null, "properties": {"stop": "A1", "east": 500100, "north": 5200100, "texture": "CL"}},
      {"type": "Feature", "geometry": null, "properties": {"stop": "A2", "east": 501100, "north": 5200100, "texture": "C"}}]})",
                     "XLSX", "stops.xlsx");
    const ReadSurvey read =
        read_all(folder, R"({"stops": {"source": "stops.xlsx", "x": "east", "y": "north", "crs": "EPSG:32633"}, )" +
                             std::string(two_squares_json) + "}");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    ASSERT_EQ(read.survey.stops.size(), 2U);
    EXPECT_EQ(read.survey.stops[1].position, (Point{501100, 5200100}));
    EXPECT_EQ(read.survey.stops[1].row, 3);  // the headings are row 1
    EXPECT_EQ(read.survey.horizons.size(), 2U);
}

TEST(Columns, TheirNamesAreMappedAndCaseDoesNotMatter) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", "Site,E,N,MUNSELL,Bedrock\n7,500100,5200100,10YR 5/6,Jl\n");
    const ReadSurvey read =
        read_all(folder, R"({"stops": {"source": "stops.csv", "x": "e", "y": "n", "crs": "EPSG:32633",
        "columns": {"stop": "Site", "colour_moist": "munsell", "unit_seen": "Bedrock"}}, )" +
                             std::string(two_squares_json) + "}");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    EXPECT_EQ(read.survey.stops[0].id, "7");
    EXPECT_EQ(read.survey.stops[0].unit_seen, 0);
    EXPECT_EQ(read.survey.horizons[0].colour_moist.str(), "10YR 5/6");
}

TEST(Columns, ThatAreMissingAreNamedWithTheNearest) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", "stop,E,N,munsel\n7,500100,5200100,10YR 5/6\n");
    EXPECT_EQ(
        error_of(
            folder,
            R"({"stops": {"source": "stops.csv", "x": "E", "y": "N", "crs": "EPSG:32633", "columns": {"colour_moist": "munsell"}}})"),
        "stops.csv: there is no column 'munsell', which the survey file names in stops.columns.colour_moist. Did you "
        "mean "
        "'munsel'? Columns here: stop, E, N, munsel.");
    EXPECT_EQ(error_of(folder, R"({"stops": {"source": "stops.csv", "x": "E", "y": "N", "crs": "EPSG:32633"},
                                   "evidence": [{"name": "xrf", "kind": "numeric", "columns": ["Ni"]}]})"),
              "stops.csv: there is no column 'Ni', which the survey file names in evidence[0].columns. Did you mean "
              "'N'? Columns here: "
              "stop, E, N, munsel.");
    EXPECT_EQ(error_of(folder, R"({"stops": {"source": "stops.csv", "crs": "EPSG:32633"}})"),
              "stops.csv: it has no points and no columns are named for the coordinates. Add 'x', 'y' and 'crs' to "
              "'stops' in the "
              "survey file, x being east or longitude. Columns here: stop, E, N, munsel.");
    EXPECT_EQ(
        error_of(folder, R"({"stops": {"source": "stops.csv", "x": "E", "y": "N"}})"),
        "stops.csv: it states no coordinate reference system. Add the key 'crs' to 'stops' in the survey file, such as "
        "\"EPSG:4326\" for degrees of a satellite receiver.");
}

TEST(Sources, ThatCannotBeOpenedSayWhy) {
    const ScratchFolder folder;
    folder.translate(two_squares, "GPKG", "book.gpkg", {"-nln", "units"});
    folder.translate(places, "GPKG", "book.gpkg", {"-nln", "stops", "-update"});
    EXPECT_EQ(error_of(folder, R"({"stops": {"source": "bok.gpkg"}})"),
              "bok.gpkg: there is no such file. Did you mean 'book.gpkg'?");
    EXPECT_EQ(error_of(folder, R"({"stops": {"source": "book.gpkg"}})"),
              "book.gpkg: it has several layers and the survey file names none. Add the key 'layer' with one of: "
              "units, stops.");
    EXPECT_EQ(error_of(folder, R"({"stops": {"source": "book.gpkg", "layer": "stop"}})"),
              "book.gpkg: there is no layer 'stop'. Did you mean 'stops'? Its layers: stops, units.");
    folder.write("notes.gpkg", "this is no database");
    EXPECT_THAT(error_of(folder, R"({"stops": {"source": "notes.gpkg"}})"),
                testing::MatchesRegex("notes.gpkg: .*copy it again.*"));
    const ReadSurvey both = read_all(
        folder,
        R"({"stops": {"source": "book.gpkg", "layer": "stops"}, "map": {"source": "book.gpkg", "layer": "units"}})");
    EXPECT_EQ(both.survey.stop_source, "book.gpkg:stops");
    EXPECT_EQ(both.survey.map_source, "book.gpkg:units");
}

TEST(Sources, ThatCannotBeOpenedByTheirWholePathSayWhy) {
    const ScratchFolder folder;
    const std::string whole =
        folder.write("stops.json", "{\"type\": \"FeatureCollection\", \"features\": [ nonsense").string();
    EXPECT_THAT(error_of(folder, R"({"stops": {"source": ")" + whole + "\"}}"),
                testing::StartsWith("stops.json: cannot be opened"));
}

TEST(Sources, CutShortAreErrorsNotFewerStops) {
    const ScratchFolder folder;
    std::string many = R"({"type": "FeatureCollection", "features": [)";
    for (int i = 0; i < 3000; ++i) {
        many += (i > 0 ? "," : "") +
                std::string(R"({"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.01, 46.95]},
            "properties": {"stop": ")") +
                std::to_string(i) + R"(", "notes": "a few words to fill the pages of the file"}})";
    }
    folder.translate(many + "]}", "GPKG", "stops.gpkg");
    std::filesystem::resize_file(folder.path() / "stops.gpkg",
                                 std::filesystem::file_size(folder.path() / "stops.gpkg") / 2);
    EXPECT_THAT(error_of(folder, R"({"stops": {"source": "stops.gpkg"}})"), testing::HasSubstr("stops.gpkg"));
}

}  // namespace
}  // namespace subcrop::io
