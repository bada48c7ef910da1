#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::Contains;
using testing::HasSubstr;

std::string survey_with(const std::string& more) {
    return R"({"crs": "EPSG:32633", "stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"}, )" +
           more + "}";
}

// The track's ends in degrees are those of 500000 and 501000 east, 5200000 north in UTM zone 33 (cs2cs of PROJ 9.1.1:
// `echo 500000 5200000 | cs2cs EPSG:32633 EPSG:4326 -f %.7f`).
constexpr const char* track = R"({"type":"FeatureCollection","features":[
{"type":"Feature","properties":{},"geometry":{"type":"MultiLineString","coordinates":[[[15,46.9535292],[15.0131421,46.9535284]]]}},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[15,46.95]}}]})";
constexpr const char* fence =
    R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::32633"}},"features":[
{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[0,0],[9,0],[9,9],[0,9],[0,0]],[[1,1],[2,1],[2,2],[1,1]]]}}]})";

TEST(WaysReader, BringsTracksAndNoGoGroundIntoTheWorkingProjection) {
    const ScratchFolder folder;
    folder.write("stops.csv", "stop,x,y,unit_seen\nA1,500100,5200100,Kd\n");
    folder.write("track.geojson", track);
    folder.write("fence.geojson", fence);
    const ReadSurvey read = read_all(
        folder,
        survey_with(R"("tracks": {"source": "track.geojson", "within_m": 60}, "no_go": {"source": "fence.geojson"})"));
    ASSERT_EQ(read.survey.tracks.size(), 1U);
    ASSERT_EQ(read.survey.tracks[0].size(), 2U);
    EXPECT_NEAR(read.survey.tracks[0][0].x, 500000, 0.02);
    EXPECT_NEAR(read.survey.tracks[0][1].x, 501000, 0.02);
    EXPECT_NEAR(read.survey.tracks[0][0].y, 5200000, 0.02);
    EXPECT_EQ(read.survey.track_reach_m, 60);
    ASSERT_EQ(read.survey.no_go.size(), 1U);
    EXPECT_EQ(read.survey.no_go[0].shell.size(), 5U);
    ASSERT_EQ(read.survey.no_go[0].holes.size(), 1U);
    EXPECT_EQ(read.survey.no_go[0].holes[0][1], (Point{2, 1}));
    EXPECT_THAT(
        lines_of(read.problems),
        Contains("warning track.geojson 2: the row is no line and is left out | Keep lines only in this layer."));
}

TEST(WaysReader, SaysWhatIsWrong) {
    const ScratchFolder folder;
    folder.write("stops.csv", "stop,x,y,unit_seen\nA1,500100,5200100,Kd\n");
    folder.write("fence.geojson", fence);
    const ReadSurvey read = read_all(folder, survey_with(R"("tracks": {"source": "fence.geojson"})"));
    EXPECT_THAT(
        lines_of(read.problems),
        Contains(HasSubstr("there is no line in it | Check the source and layer under 'tracks' in the survey file.")));
    EXPECT_THAT(error_of(folder, survey_with(R"("tracks": {"source": "nowhere.gpkg"})")), HasSubstr("nowhere.gpkg"));
    EXPECT_THAT(error_of(folder, survey_with(R"("tracks": {"source": "fence.geojson", "within": 5})")),
                HasSubstr("within_m"));
    EXPECT_THAT(error_of(folder, survey_with(R"("settings": {"next_stops": 5000})")),
                HasSubstr("Write a number from 0 to 1000."));
}

}  // namespace
}  // namespace subcrop::io
