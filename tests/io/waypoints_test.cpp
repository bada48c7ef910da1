// Places of stops that come home as waypoints of a receiver.
#include <gmock/gmock.h>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::SizeIs;

const char* const day_gpx = R"(<?xml version="1.0"?>
<gpx version="1.1" creator="a receiver" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="46.956" lon="15.004"><ele>812</ele><time>2026-05-12T08:10:00Z</time><name>A01</name></wpt>
<wpt lat="46.957" lon="15.005"><name>03 Kd-Jl</name></wpt>
<wpt lat="46.958" lon="15.006"><name>A-4</name></wpt>
<wpt lat="46.959" lon="15.007"><name>a 4</name></wpt>
<wpt lat="46.959" lon="15.008"></wpt>
<trk><name>day</name><trkseg><trkpt lat="46.95" lon="15"/><trkpt lat="46.96" lon="15.01"/></trkseg></trk>
</gpx>)";

class Waypoints : public testing::Test {
protected:
    Waypoints() {
        folder_.write("map.geojson", two_squares);
        folder_.write("day.gpx", day_gpx);
    }
    std::string json(const std::string& stops) const {
        return R"({"stops": {"source": "stops.csv")" + stops + R"(}, "waypoints": {"source": "day.gpx"}, )" +
               two_squares_json + "}";
    }
    ScratchFolder folder_;
};

TEST_F(Waypoints, GiveStopsTheirPlacesByName) {
    folder_.write("stops.csv", "stop,plants\nA-01,heather\n03 kd-jl,ash\na4,ash\nA 05,ash\n");
    const ReadSurvey read = read_all(folder_, json(""));
    ASSERT_THAT(read.survey.stops, SizeIs(3));
    // cs2cs -f %.3f EPSG:4326 EPSG:32633
    EXPECT_NEAR(read.survey.stops[0].position.x, 500304.352, 0.001);
    EXPECT_NEAR(read.survey.stops[0].position.y, 5200274.576, 0.001);
    EXPECT_NEAR(read.survey.stops[2].position.x, 500532.586, 0.001);  // of 46.959 15.007: the later of two called alike
    EXPECT_NEAR(read.survey.stops[2].position.y, 5200607.969, 0.001);
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("error stops.csv 5 stop 'A 05': the stop has no place, and no waypoint of day.gpx:waypoints is "
                    "called so; the stop is left out | "
                    "Name the waypoint as the stop, or give the stop its position.",
                    "warning day.gpx:waypoints 3 name 'a 4': waypoint 'A-4' (row 2) has this name too; the later one "
                    "counts | Give each waypoint a name of its own.",
                    "note stops.csv 2 stop 'A-01': the place is that of waypoint 'A01' of day.gpx:waypoints",
                    "note stops.csv 3 stop '03 kd-jl': the place is that of waypoint '03 Kd-Jl' of day.gpx:waypoints",
                    "note stops.csv 4 stop 'a4': the place is that of waypoint 'a 4' of day.gpx:waypoints"));
}

TEST_F(Waypoints, FillOnlyGapsAndInTheStopsOwnSystem) {
    folder_.write("stops.csv", "stop,E,N\nA01,500900,5200900\n03 Kd-Jl,,\n");
    const ReadSurvey read = read_all(folder_, json(R"(, "x": "E", "y": "N", "crs": "EPSG:32633")"));
    ASSERT_THAT(read.survey.stops, SizeIs(2));
    EXPECT_EQ(read.survey.stops[0].position.x, 500900);               // its own
    EXPECT_NEAR(read.survey.stops[1].position.x, 500380.433, 0.001);  // of 46.957 15.005
    EXPECT_NEAR(read.survey.stops[1].position.y, 5200385.706, 0.001);
}

TEST_F(Waypoints, ATrackGivesPlacesByTheTime) {
    folder_.write("day.gpx", R"(<?xml version="1.0"?>
<gpx version="1.1" creator="a receiver" xmlns="http://www.topografix.com/GPX/1/1">
<trk><trkseg><trkpt lat="46.955" lon="15.003"><time>2026-05-12T08:00:00Z</time></trkpt>
<trkpt lat="46.957" lon="15.005"><time>2026-05-12T08:10:00Z</time></trkpt>
<trkpt lat="46.957" lon="15.005"><time>2026-05-12T09:00:00Z</time></trkpt></trkseg></trk>
</gpx>)");
    folder_.write("stops.csv",
                  "stop,date\nA,2026-05-12 10:05\nB,12 May 2026 11:00\nC,2026-05-12 10:30\nD,2026-05-12\n");
    const ReadSurvey read = read_all(
        folder_,
        std::string(R"({"stops": {"source": "stops.csv"}, "waypoints": {"source": "day.gpx", "utc_offset_h": 2}, )") +
            two_squares_json + "}");
    ASSERT_THAT(read.survey.stops, SizeIs(2));
    // half way between the first two points: cs2cs -f %.3f EPSG:4326 EPSG:32633 of 46.956 15.004
    EXPECT_NEAR(read.survey.stops[0].position.x, 500304.352, 0.01);
    EXPECT_NEAR(read.survey.stops[0].position.y, 5200274.576, 0.01);
    EXPECT_NEAR(read.survey.stops[1].position.x, 500380.433, 0.01);
    const std::vector<std::string> lines = lines_of(read.problems);
    EXPECT_THAT(lines, testing::Contains(
                           "note stops.csv 2 stop 'A': the place is that of the track of day.gpx at 2026-05-12 10:05"));
    // within the fifty minutes of which the track says nothing
    EXPECT_THAT(lines, testing::Contains(
                           HasSubstr("error stops.csv 4 stop 'C': the stop has no place, and no waypoint of day.gpx")));
    EXPECT_THAT(lines, testing::Contains(
                           HasSubstr("error stops.csv 5 stop 'D': the stop has no place, and no waypoint of day.gpx")));
    EXPECT_EQ(
        error_of(folder_,
                 std::string(
                     R"({"stops": {"source": "stops.csv"}, "waypoints": {"source": "day.gpx", "utc_offset_h": 20}, )") +
                     two_squares_json + "}"),
        "survey.json, field waypoints.utc_offset_h: no clock is more than 14 hours from UTC. Write the hours by which "
        "it is ahead, such as 2.");
}

TEST_F(Waypoints, AreStopsThemselvesWhereTheSurveySaysSo) {
    const ReadSurvey read = read_all(
        folder_,
        std::string(R"({"stops": {"source": "day.gpx", "layer": "waypoints", "columns": {"stop": "name"}}, )") +
            two_squares_json + "}");
    ASSERT_THAT(read.survey.stops, SizeIs(5));
    EXPECT_EQ(read.survey.stops[0].id, "A01");
}

TEST_F(Waypoints, WithoutThemAStopNeedsAPlace) {
    folder_.write("stops.csv", "stop,plants\nA01,ash\n");
    EXPECT_THAT(error_of(folder_, std::string(R"({"stops": {"source": "stops.csv"}, )") + two_squares_json + "}"),
                HasSubstr("it has no points and no columns are named for the coordinates"));
}

}  // namespace
}  // namespace subcrop::io
