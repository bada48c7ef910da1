// Draft maps as they come: parts, curves, heights, folds, other systems.
#include <gmock/gmock.h>

#include <cmath>

#include "io/polygon_screen.hpp"
#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::DoubleNear;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr const char* utm33 = R"("crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32633"}}, )";

std::string map_of(const std::string& features, const std::string& crs = utm33) {
    return R"({"type": "FeatureCollection", )" + crs + R"("features": [)" + features + "]}";
}

std::string feature(const std::string& unit, const std::string& type, const std::string& coordinates) {
    return R"({"type": "Feature", "properties": {"unit": )" + unit + R"(}, "geometry": {"type": ")" + type +
           R"(", "coordinates": )" + coordinates + "}}";
}

constexpr const char* square =
    "[[500000, 5200000], [501000, 5200000], [501000, 5201000], [500000, 5201000], [500000, 5200000]]";

class MapReader : public testing::Test {
protected:
    MapReader() { folder_.write("stops.csv", "stop,E,N\n1,500100,5200100\n"); }
    std::string json(const std::string& map, const std::string& more = {}) const {
        return R"({"stops": {"source": "stops.csv", "x": "E", "y": "N", "crs": "EPSG:32633"}, "map": )" + map +
               (more.empty() ? "" : ", " + more) + "}";
    }
    ReadSurvey read(const std::string& text, const std::string& more = {}) {
        folder_.write("map.geojson", text);
        return read_all(folder_, json(R"({"source": "map.geojson"})", more));
    }
    std::string error(const std::string& text) {
        folder_.write("map.geojson", text);
        return error_of(folder_, json(R"({"source": "map.geojson"})"));
    }
    ScratchFolder folder_;
};

double area(const Polygon& polygon) {
    double sum = std::abs(twice_signed_area(polygon.shell));
    for (const Ring& hole : polygon.holes) sum -= std::abs(twice_signed_area(hole));
    return sum / 2;
}

TEST_F(MapReader, SplitsPartsAndKeepsHoles) {
    const ReadSurvey read = this->read(map_of(
        feature("\"Kd\"", "MultiPolygon",
                "[[" + std::string(square) +
                    ", [[500400, 5200400, 9], [500600, 5200400, 9], [500600, 5200600, 9], [500400, 5200400, 9]]], "
                    "[[[502000, 5200000], [503000, 5200000], [503000, 5201000], [502000, 5200000]]]]") +
        ", " +
        feature("\"Jl\"", "Polygon",
                "[[[501000, 5200000], [502000, 5200000], [502000, 5201000], [501000, 5200000]]]")));
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    ASSERT_THAT(read.survey.map, SizeIs(3));
    EXPECT_EQ(read.survey.map[0].row, 1);
    EXPECT_EQ(read.survey.map[1].row, 1);
    EXPECT_EQ(read.survey.map[2].row, 2);
    EXPECT_EQ(read.survey.map[1].unit, 1);
    EXPECT_DOUBLE_EQ(area(read.survey.map[0].polygon), 1e6 - 2e4);
    EXPECT_EQ(read.survey.map[0].polygon.holes.size(), 1U);
    EXPECT_EQ(read.survey.contact_sd_m, 25);
}

TEST_F(MapReader, RepairsAndTellsWhatIsWrong) {
    const ReadSurvey read = this->read(map_of(
        feature("\"Kd\"", "Polygon",
                "[[[500000, 5200000], [501000, 5201000], [501000, 5200000], [500000, 5201000], [500000, 5200000]]]") +
        ", " +
        feature("\"Kd\"", "Polygon", "[[[501000, 5200000], [502000, 5200000], [501500, 5200000], [501000, 5200000]]]") +
        ", " + feature("null", "Polygon", "[" + std::string(square) + "]") + ", " + feature("\"Jl\"", "Polygon", "[]") +
        ", " + feature("\"Jl\"", "LineString", "[[500000, 5200000], [501000, 5201000]]")));
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("error map.geojson 3 unit: the polygon names no map unit and is left out | Write the unit's code.",
                    "error map.geojson 4 'Jl': the map row has no polygon and is left out | Draw it or delete the row.",
                    "error map.geojson 5 'Jl': the map row is no polygon but a line and is left out | Keep polygons "
                    "only in the map layer.",
                    "warning map.geojson 1 'Kd': the polygon is not valid (self-intersection) and has been repaired | "
                    "Look at it and "
                    "redraw it if the repair is not what you meant.",
                    "warning map.geojson 2 'Kd': the polygon has no area (self-intersection) and is left out | Delete "
                    "or redraw it."));
    ASSERT_TRUE(read.problems[3].position);
    EXPECT_EQ(*read.problems[3].position, (Point{500500, 5200500}));
    ASSERT_THAT(read.survey.map, SizeIs(2));  // two triangles, by hand a quarter of the square each
    EXPECT_DOUBLE_EQ(area(read.survey.map[0].polygon), 250000);
    EXPECT_DOUBLE_EQ(area(read.survey.map[1].polygon), 250000);
}

TEST_F(MapReader, StraightensCurves) {
    // A half disc of radius 500 m: area pi r^2 / 2, less what chords of four degrees (GDAL's default) cut off, 0.1 %.
    folder_.write(
        "curve.csv",
        "WKT,unit\n\"CURVEPOLYGON (COMPOUNDCURVE (CIRCULARSTRING (500000 5200000, 500500 5200500, 501000 5200000), "
        "(501000 5200000, 500000 5200000)))\",Kd\n");
    const ReadSurvey read = read_all(folder_, json(R"({"source": "curve.csv", "crs": "EPSG:32633"})"));
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    ASSERT_THAT(read.survey.map, SizeIs(1));
    EXPECT_GT(read.survey.map[0].polygon.shell.size(), 40U);
    EXPECT_NEAR(area(read.survey.map[0].polygon), std::acos(-1.0) * 500 * 500 / 2, 500);
}

TEST_F(MapReader, InDegreesIsBroughtIntoAZone) {
    const ReadSurvey read = this->read(
        map_of(feature("\"Kd\"", "Polygon", "[[[15.0, 46.95], [15.02, 46.95], [15.02, 46.97], [15.0, 46.95]]]"), ""));
    EXPECT_EQ(read.survey.crs_name, "WGS 84 / UTM zone 33N");
    // echo 46.95 15.02 | cs2cs -f %.3f EPSG:4326 EPSG:32633 (PROJ 9.1.1)
    EXPECT_THAT(read.survey.map[0].polygon.shell[1].x, DoubleNear(501521.929, 0.001));
    EXPECT_THAT(read.survey.map[0].polygon.shell[1].y, DoubleNear(5199608.010, 0.001));
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    ASSERT_THAT(read.survey.operations, SizeIs(2));
    EXPECT_EQ(read.survey.operations[0].source, "stops.csv");
    EXPECT_EQ(read.survey.operations[1].from, "WGS 84");
    EXPECT_EQ(read.survey.operations[1].to, "WGS 84 / UTM zone 33N");
}

TEST_F(MapReader, RefusesWhatIsNoMap) {
    EXPECT_EQ(error(map_of(feature("\"Kd\"", "LineString", "[[500000, 5200000], [501000, 5201000]]"))),
              "map.geojson: the map must be polygons, and each row of this layer is a line. Name the layer of map unit "
              "polygons.");
    EXPECT_EQ(
        error(map_of(feature("null", "Polygon", "[" + std::string(square) + "]"))),
        "map.geojson: none of its 1 rows is a usable polygon of a map unit. Check the geometry and the column 'unit'.");
    folder_.write("empty.csv", "WKT,unit\n");
    EXPECT_EQ(error_of(folder_, json(R"({"source": "empty.csv", "crs": "EPSG:32633"})")),
              "empty.csv: the map is empty. Check that it is the right file and layer.");
    folder_.write("map.csv", "WKT,unt\n\"POLYGON ((0 0, 1 0, 1 1, 0 0))\",Kd\n");
    EXPECT_THAT(error_of(folder_, json(R"({"source": "map.csv", "crs": "EPSG:32633"})")),
                HasSubstr("map.csv: there is no column 'unit'. Say which column it is in the survey file, map.columns: "
                          "{\"unit\": \"unt\"}. Columns here: "));
    folder_.write("map.csv", "WKT,unit\n\"POLYGON ((0 0, 1 0, 1 1, 0 0))\",Kd\n");
    EXPECT_EQ(error_of(folder_, json(R"({"source": "map.csv"})")),
              "map.csv: it states no coordinate reference system. Add the key 'crs' to 'map' in the survey file, such "
              "as \"EPSG:4326\" for "
              "degrees of a satellite receiver.");
}

TEST_F(MapReader, WorkingProjectionMustBeInMetres) {
    folder_.write("map.geojson", two_squares);
    const std::string map = R"({"source": "map.geojson"})";
    EXPECT_EQ(error_of(folder_, json(map, R"("crs": "EPSG:4326")")),
              "survey.json, field crs: WGS 84 is in degrees, and the working projection must be in metres. Name a "
              "projected system such as a "
              "UTM zone, or leave the key out.");
    EXPECT_THAT(error_of(folder_, json(map, R"("crs": "EPSG:2229")")),
                HasSubstr("is not a projection in metres. Name one that is, such as a UTM zone"));
    EXPECT_THAT(error_of(folder_, json(map, R"("crs": "EPSG:999999")")), HasSubstr("survey.json, field crs: "));
    EXPECT_EQ(read_all(folder_, json(map, R"("crs": "EPSG:3035")")).survey.crs_name, "ETRS89-extended / LAEA Europe");
}

TEST_F(MapReader, LegendGivesOrderAndExpectations) {
    folder_.write("map.geojson", two_squares);
    folder_.write("legend.csv",
                  "unit,name,age_order,colour,cover,expected_colours,expected_plants,expected_worth_stops\n"
                  "Kd,Darrow marl,2,#C8A46E,no,10YR 5/6; 7.5YR 5/6,ash;hazel,8\n"
                  "Qa,Alluvium,1,tan,yes,,,\nKd,Twice,,,,,,\n,Nameless,,,,,,\n");
    const ReadSurvey read =
        read_all(folder_, json(R"({"source": "map.geojson"})", R"("legend": {"source": "legend.csv"})"));
    ASSERT_THAT(read.survey.units, SizeIs(3));
    const auto& marl = read.survey.units[0];
    EXPECT_EQ(marl.code, "Kd");
    EXPECT_EQ(marl.name, "Darrow marl");
    EXPECT_EQ(marl.age_order, 2);
    EXPECT_EQ(marl.colour, "#c8a46e");
    EXPECT_THAT(marl.expected.colours, ElementsAre("10YR 5/6", "7.5YR 5/6"));
    EXPECT_THAT(marl.expected.plants, ElementsAre("ash", "hazel"));
    EXPECT_EQ(marl.expected.worth_stops, 8);
    EXPECT_TRUE(read.survey.units[1].cover);
    EXPECT_EQ(read.survey.units[1].expected.worth_stops, 5);
    EXPECT_EQ(read.survey.units[2].code, "Jl");
    EXPECT_EQ(read.survey.map[0].unit, 0);
    EXPECT_EQ(read.survey.map[1].unit, 2);
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("error legend.csv 4 unit 'Kd': the unit stands in the legend already; this row is left out | Keep "
                    "one row for each unit.",
                    "error legend.csv 5 unit: the legend's row names no unit and is left out | Write the unit's code.",
                    "warning legend.csv 3 colour 'tan': this is no display colour; one is chosen instead | Write it as "
                    "#rrggbb, such as #c8a46e.",
                    "warning map.geojson unit 'Jl': the map's unit 'Jl' is not in the legend; it is taken as a unit of "
                    "its own | Add it to "
                    "the legend or correct the map.",
                    "note legend.csv: 1 of 2 units of the legend has no polygon on the map: 'Qa' | Draw it, take it "
                    "out of the legend, or "
                    "leave it if it may be met unmapped."));
}

// EPSG:4267 to 4326 over Colorado is 7 m at best on a machine without grids: the operation's accuracy enters the error.
TEST_F(MapReader, AccuracyOfTheOperationIsAddedInQuadrature) {
    folder_.write(
        "map.geojson",
        map_of(feature("\"Kd\"", "Polygon", "[[[-105.5, 39.5], [-105.4, 39.5], [-105.4, 39.6], [-105.5, 39.5]]]"), ""));
    folder_.write("stops.csv", "stop,E,N,position_sd_m\n1,-105.42,39.52,24\n");
    const ReadSurvey read = read_all(
        folder_, R"({"crs": "EPSG:32613", "stops": {"source": "stops.csv", "x": "E", "y": "N", "crs": "EPSG:4267"},
        "map": {"source": "map.geojson", "contact_sd_m": 30}})");
    ASSERT_TRUE(read.survey.operations[0].accuracy_m);
    const double accuracy = *read.survey.operations[0].accuracy_m;
    EXPECT_GE(accuracy, 2);
    EXPECT_DOUBLE_EQ(read.survey.stops[0].position_sd_m, std::hypot(24, accuracy));
    EXPECT_EQ(read.survey.contact_sd_m, 30);
}

TEST_F(MapReader, ThreadsDoNotShow) {
    std::string features;
    for (int i = 0; i < 600; ++i) {
        const std::string x = std::to_string(500000 + 10 * i), e = std::to_string(500010 + 10 * i);
        const bool fold = i % 7 == 0;
        features +=
            (i > 0 ? ", " : "") +
            feature("\"U" + std::to_string(i % 5) + "\"", "Polygon",
                    "[[[" + x + ", 5200000], [" + (fold ? e + ", 5201000" : e + ", 5200000") + "], [" +
                        (fold ? e + ", 5200000" : e + ", 5201000") + "], [" + x + ", 5201000], [" + x + ", 5200000]]]");
    }
    folder_.write("map.geojson", map_of(features));
    const std::string text = json(R"({"source": "map.geojson"})", R"("crs": "EPSG:3035")");
    const ReadSurvey one = read_all(folder_, text, 1), three = read_all(folder_, text, 3);
    EXPECT_THAT(lines_of(one.problems), testing::ElementsAreArray(lines_of(three.problems)));
    EXPECT_THAT(one.problems, SizeIs(86));
    ASSERT_EQ(one.survey.map.size(), three.survey.map.size());
    for (std::size_t i = 0; i < one.survey.map.size(); ++i) {
        EXPECT_EQ(one.survey.map[i].polygon.shell, three.survey.map[i].polygon.shell);
        EXPECT_EQ(one.survey.map[i].unit, three.survey.map[i].unit);
    }
    EXPECT_EQ(one.survey.operations[1].name, three.survey.operations[1].name);
}

}  // namespace
}  // namespace subcrop::io
