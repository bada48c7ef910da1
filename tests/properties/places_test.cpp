// The same survey elsewhere on the globe, turned, or written in another coordinate reference system.
#include <gmock/gmock.h>

#include <cmath>

#include "properties/invented_valley.hpp"

namespace subcrop::properties {
namespace {

const Valley& valley() {
    static const Valley made;
    return made;
}

const Judgement& as_drawn() {
    static const Judgement judged = judge(valley(), {});
    return judged;
}

Writing turned(double degrees) {
    const double s = std::sin(degrees * M_PI / 180), c = std::cos(degrees * M_PI / 180);
    Writing writing;
    writing.place = [s, c](Point p) { return Point{500000 + c * p.x - s * p.y, 5600000 + s * p.x + c * p.y}; };
    return writing;
}

TEST(SurveyPlace, AnywhereElseInTheSystem) {
    Writing writing;
    writing.place = [](Point p) { return Point{p.x + 311234.567, p.y + 5987654.321}; };
    // Places in the millions carry nine digits behind the point at best.
    expect_same(as_drawn(), judge(valley(), writing), 1e-4);
}

TEST(SurveyPlace, TurnedByRightAngles) {
    for (const double degrees : {90.0, 180.0}) expect_same(as_drawn(), judge(valley(), turned(degrees)), 1e-4);
}

/// Blocks of ground held out together lie along the axes, so that turned ones hold other stops together, each stop is
/// judged by signatures learnt from others, and those near a threshold cross it.
TEST(SurveyPlace, TurnedByAnyAngleAlmostNothingChanges) {
    for (const double degrees : {1.0, 30.0}) {
        const Judgement now = judge(valley(), turned(degrees));
        EXPECT_EQ(now.stops.size(), 184U);
        EXPECT_LE(differing(as_drawn(), now).size(), 5U) << degrees;
        for (const auto& [id, stop] : as_drawn().stops) {
            EXPECT_EQ(stop.mapped, now.stops.at(id).mapped) << id;
            EXPECT_NEAR(stop.contact_distance_m, now.stops.at(id).contact_distance_m, 1e-5) << id;
        }
    }
}

struct Place {
    const char* what;
    double longitude, latitude;
    const char* zone;  ///< that the program should choose
};

void PrintTo(const Place& place, std::ostream* out) { *out << place.what; }

std::string plane_about(const Place& place) {
    return "+proj=aeqd +lat_0=" + std::to_string(place.latitude) + " +lon_0=" + std::to_string(place.longitude) +
           " +datum=WGS84 +units=m +no_defs";
}

/// Points of a plane that touches the globe there, as degrees; longitudes within 180 of `about`.
Placing degrees_at(const Place& place, double about) {
    return [to_degrees = transformed(plane_about(place), "EPSG:4326"), about](Point p) {
        p = to_degrees(p);
        p.x += 360 * std::round((about - p.x) / 360);
        return p;
    };
}

class SurveyAt : public testing::TestWithParam<Place> {};

/// All in degrees and the projection left to the program. UTM and UPS scale distances by 0.994 to 1.0004 and turn them
/// where meridians converge, here by up to one degree: so much may the distances differ, and probabilities by what that
/// does to the draft's blur.
TEST_P(SurveyAt, InDegreesIsTheSameSurvey) {
    const Place& place = GetParam();
    Writing writing;
    writing.crs = "EPSG:4326";
    writing.place = degrees_at(place, 0);
    const Judgement judged = judge(valley(), writing);
    EXPECT_EQ(judged.working_crs, place.zone);
    expect_same(as_drawn(), judged, 0.02, 0.0065);
    for (const std::string& problem : judged.problems)
        EXPECT_THAT(problem, testing::AnyOf(testing::HasSubstr("rock of"),
                                            testing::HasSubstr("'rushes' (24 times) is read as 'rush'")));
}

INSTANTIATE_TEST_SUITE_P(Globe, SurveyAt,
                         testing::Values(Place{"two zones", 12, 2, "WGS 84 / UTM zone 33N"},
                                         Place{"the equator", -78.2, 0, "WGS 84 / UTM zone 17S"},
                                         Place{"the southern hemisphere", -69, -33.4, "WGS 84 / UTM zone 19S"},
                                         Place{"the date line", 180, -17.5, "WGS 84 / UTM zone 1S"},
                                         Place{"the Arctic", 0, 88.5, "WGS 84 / UPS North (E,N)"},
                                         Place{"the Antarctic", 0, -86, "WGS 84 / UPS South (E,N)"}));

TEST(SurveyPlace, LongitudesBeyondTheDateLineMayBeWrittenEitherWay) {
    const Place place{"the date line", 180, -17.5, ""};
    Writing writing;
    writing.crs = "EPSG:4326";
    writing.place = degrees_at(place, 0);  // 179.99, -179.99
    const Judgement wrapped = judge(valley(), writing);
    writing.place = degrees_at(place, -180);
    writing.place_map = degrees_at(place, 180);
    expect_same(wrapped, judge(valley(), writing), 1e-4);
    writing.map_crs = "EPSG:32701";
    writing.place_map = transformed(plane_about(place), "EPSG:32701");
    expect_same(wrapped, judge(valley(), writing), 1e-4, 1e-5);
}

TEST(SurveyPlace, StopsInDegreesOverAPolarMapRoundThePole) {
    const Place place{"the pole", 0, 90, ""};
    Writing writing;
    writing.map_crs = "EPSG:3413";  // NSIDC polar stereographic, turned by 45 degrees
    writing.place_map = transformed(plane_about(place), "EPSG:3413");
    writing.crs = writing.map_crs;
    writing.place = writing.place_map;
    const Judgement projected = judge(valley(), writing);
    writing.crs = "EPSG:4326";
    writing.place = degrees_at(place, 0);
    expect_same(projected, judge(valley(), writing), 1e-4, 1e-5);
}

}  // namespace
}  // namespace subcrop::properties
