// Rows chosen by a condition of the survey file.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

std::vector<std::string> stops_of(const ReadSurvey& read) {
    std::vector<std::string> ids;
    for (const model::Stop& stop : read.survey.stops) ids.push_back(stop.id);
    return ids;
}

std::string survey_of(const std::string& stops_where, const std::string& more = "") {
    return R"({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633", "where": ")" + stops_where +
           R"("}, )" + two_squares_json + more + "}";
}

constexpr const char* four_stops =
    "stop,x,y,Day,observer\n1-1,500100,5200100,2026-05-03,KO\n1-2,500120,5200100,2026-05-04,AL\n\n"
    "2-1,500140,5200100,2026-06-01,KO\n2-2,500160,nowhere,2026-06-02,KO\n";

TEST(Where, RowsThatDoNotMeetTheConditionAreNotRead) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", four_stops);
    EXPECT_THAT(stops_of(read_all(folder, survey_of("day < '2026-06-01'"))), ElementsAre("1-1", "1-2"));
    EXPECT_THAT(stops_of(read_all(folder, survey_of("observer = 'KO' AND stop LIKE '1-%'"))), ElementsAre("1-1"));
    EXPECT_THAT(stops_of(read_all(folder, survey_of("stop IN ('1-2', '2-1')"))), ElementsAre("1-2", "2-1"));
}

TEST(Where, RowsKeepTheNumbersThatSheSees) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", four_stops);
    const ReadSurvey read = read_all(folder, survey_of("Day >= '2026-06-01'"));
    EXPECT_THAT(stops_of(read), ElementsAre("2-1"));
    bool told = false;
    for (const Problem& problem : read.problems) told |= problem.row == 6 && problem.value == "nowhere";
    EXPECT_TRUE(told) << "the heading, two stops, an empty line and another stop stand above it";
}

TEST(Where, HoldsForHorizonsMapAndGeoPackagesToo) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.translate(R"({"type": "FeatureCollection", "features": [
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.004, 46.956]}, "properties": {"stop": "A1", "depth": 12.5}},
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.005, 46.956]}, "properties": {"stop": "A2", "depth": 30}}]})",
                     "GPKG", "stops.gpkg");
    folder.write("horizons.csv", "stop,top_cm,bottom_cm,texture\nA1,0,20,L\nA2,0,20,C\n");
    const ReadSurvey read = read_all(folder, R"({"stops": {"source": "stops.gpkg", "where": "depth > 20"},
                    "horizons": {"source": "horizons.csv", "where": "stop <> 'A1'"}, )" +
                                                 std::string(two_squares_json) + "}");
    EXPECT_THAT(stops_of(read), ElementsAre("A2"));
    EXPECT_EQ(read.survey.horizons.size(), 1U);
    for (const Problem& problem : read.problems) EXPECT_NE(problem.source, "horizons.csv") << problem.message;
}

TEST(Where, AConditionThatCannotBeReadIsNamed) {
    const ScratchFolder folder;
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", four_stops);
    const std::string unknown = error_of(folder, survey_of("date < '2026-06-01'"));
    EXPECT_THAT(unknown,
                StartsWith("stops.csv: the condition 'date < '2026-06-01'' in 'stops.where' cannot be read ("));
    EXPECT_THAT(unknown, HasSubstr("Columns here: stop, x, y, Day, observer."));
    EXPECT_THAT(error_of(folder, survey_of("day <")), HasSubstr("in 'stops.where' cannot be read"));
    // No database is handed the text.
    EXPECT_THAT(error_of(folder, survey_of("1=1; DROP TABLE stops")), HasSubstr("cannot be read"));
    EXPECT_THAT(error_of(folder, survey_of("load_extension('x') = 1")), HasSubstr("cannot be read"));
}

}  // namespace
}  // namespace subcrop::io
