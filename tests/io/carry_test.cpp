// Columns of hers that the results carry as they stand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

std::vector<std::string> values_of(const model::CarriedColumn& column) {
    std::vector<std::string> values;
    for (const Text value : column.values) values.push_back(value.str());
    return values;
}

std::string survey_of(const std::string& stops, const std::string& more) {
    return R"({"stops": {"source": ")" + stops + R"(", "x": "x", "y": "y", "crs": "EPSG:32633"}, )" + two_squares_json +
           more + "}";
}

TEST(Carry, ColumnsAreTakenAsTheyStandAndStayWithTheirStops) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    // The second has no place; that of the third is found wrong only when all are brought into the projection.
    folder.write("stops.csv",
                 "stop,x,y,Observer,photo,note\n1,15.004,46.956,E. Tarn, IMG_1.jpg ,a\n2,,,B. Hold,IMG_2.jpg,b\n"
                 "3,15.004,146,B. Hold,IMG_3.jpg,c\n4,15.005,46.956,,IMG_4.jpg,d\n");
    folder.write("holes.csv", "hole,x,y,photo,rock_m\nB1,500200,5200200,core.jpg,3\nB2,500250,5200200,,4\n");
    const ReadSurvey read = read_all(
        folder,
        std::string(R"({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:4326"}, )") +
            two_squares_json +
            R"(, "carry": ["observer", "photo"], "boreholes": {"source": "holes.csv", "x": "x", "y": "y", "crs": "EPSG:32633"}})");
    ASSERT_EQ(read.survey.stops.size(), 4U);
    ASSERT_EQ(read.survey.carried.size(), 2U);
    EXPECT_EQ(read.survey.carried[0].name, "observer");
    EXPECT_THAT(values_of(read.survey.carried[0]), ElementsAre("E. Tarn", "", "", ""));
    EXPECT_THAT(values_of(read.survey.carried[1]), ElementsAre("IMG_1.jpg", "IMG_4.jpg", "core.jpg", ""));
}

TEST(Carry, NumbersAndDatesOfAGeoPackageBecomeText) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.translate(R"({"type": "FeatureCollection", "features": [
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.004, 46.956]}, "properties": {"stop": "A1", "depth": 12.5, "day": "2026/05/03", "photos": 3}},
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.005, 46.956]}, "properties": {"stop": "A2", "depth": null, "day": null, "photos": 0}}]})",
                     "GPKG", "stops.gpkg");
    const ReadSurvey read =
        read_all(folder, R"({"stops": {"source": "stops.gpkg"}, "carry": ["depth", "day", "photos", "fid"], )" +
                             std::string(two_squares_json) + "}");
    EXPECT_THAT(values_of(read.survey.carried[0]), ElementsAre("12.5", ""));
    EXPECT_THAT(values_of(read.survey.carried[1]), ElementsAre("2026-05-03", ""));
    EXPECT_THAT(values_of(read.survey.carried[2]), ElementsAre("3", "0"));
    EXPECT_THAT(values_of(read.survey.carried[3]), ElementsAre("1", "2"));
}

TEST(Carry, WhatCannotBeCarriedIsNamedWithTheNearest) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", "stop,x,y,observer,photos\n1,500100,5200100,E. Tarn,IMG_1.jpg\n");
    EXPECT_EQ(error_of(folder, survey_of("stops.csv", R"(, "carry": ["observer", "photo"])")),
              "stops.csv: there is no column 'photo', which the survey file names in carry[1]. Did you mean 'photos'? "
              "Columns here: stop, x, y, observer, photos.");
    EXPECT_EQ(error_of(folder, survey_of("stops.csv", R"(, "carry": ["photos", "Photos"])")),
              "survey.json, field carry[1]: the column 'Photos' is named twice. Keep one of the two.");
    EXPECT_EQ(error_of(folder, survey_of("stops.csv", R"(, "carry": "photos")")),
              "survey.json, field carry: a list of texts in square brackets is expected here, not text (\"photos\"). "
              "Write [\"one\", \"two\"], for example.");
}

TEST(Carry, AColumnThatIsCarriedIsNoSlipForOneOfOurs) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", "stop,x,y,plant\n1,500100,5200100,heather\n");
    EXPECT_EQ(read_all(folder, survey_of("stops.csv", "")).problems.size(), 1U);
    const ReadSurvey read = read_all(folder, survey_of("stops.csv", R"(, "carry": ["plant"])"));
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    EXPECT_TRUE(read.survey.stops[0].plants.empty());
}

// A table of dBASE alone counts its records from 1, as the shapefile it may belong to; an OpenDocument sheet as it
// shows.
TEST(Carry, RowsOfProblemsAreThoseSheSees) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    const std::string stops = R"({"type": "FeatureCollection", "features": [
      {"type": "Feature", "geometry": null, "properties": {"stop": "A1", "x": 500100, "y": 5200100, "texture": "CL"}},
      {"type": "Feature", "geometry": null, "properties": {"stop": "A2", "x": 500900, "y": 5200100, "texture": "rubble"}}]})";
    for (const auto& [driver, name, row] :
         {std::tuple("ESRI Shapefile", "stops.dbf", 2), std::tuple("ODS", "stops.ods", 3),
          std::tuple("XLSX", "stops.xlsx", 3), std::tuple("GPKG", "stops.gpkg", 2)}) {
        folder.translate(stops, driver, name);
        const ReadSurvey read = read_all(folder, survey_of(name, ""));
        ASSERT_EQ(read.survey.stops.size(), 2U) << name;
        EXPECT_EQ(read.survey.stops[1].row, row) << name;
    }
}

}  // namespace
}  // namespace subcrop::io
