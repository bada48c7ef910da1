#include "subcrop/geo/overlay.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {
namespace {

Polygon rectangle(double west, double south, double east, double north) {
    return {{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}, {}};
}

double area_of(const MultiPolygon& ground) {
    double area = 0;
    for (const Polygon& polygon : ground) area += area_m2(polygon);
    return area;
}

TEST(Overlay, ACircleHasTheAreaOfItsPolygon) {
    // A regular 64-gon: n r^2 sin(2 pi / n) / 2 (plane geometry).
    EXPECT_NEAR(area_m2(circle({500000, 5600000}, 100)), 32 * 1e4 * std::sin(2 * std::numbers::pi / 64), 1e-3);
}

TEST(Overlay, CommonGroundAndWhatIsLeftMakeTheWhole) {
    const MultiPolygon square{rectangle(0, 0, 100, 100)}, other{rectangle(60, 50, 200, 200)};
    EXPECT_DOUBLE_EQ(area_of(common_ground(square, other)), 40 * 50);
    EXPECT_DOUBLE_EQ(area_of(ground_without(square, other)), 1e4 - 2000);
    EXPECT_TRUE(common_ground(square, {rectangle(100, 0, 200, 100)}).empty());  // an edge is no ground
    EXPECT_TRUE(common_ground({}, square).empty());
    EXPECT_DOUBLE_EQ(area_of(ground_without(square, {})), 1e4);
}

TEST(Overlay, APolygonThatCrossesItselfIsRepaired) {
    const Polygon bow{{{0, 0}, {100, 100}, {100, 0}, {0, 100}, {0, 0}}, {}};
    EXPECT_DOUBLE_EQ(area_of(common_ground({bow}, {rectangle(-1, -1, 101, 101)})), 5000);
}

TEST(Overlay, GroundIsCutHalfWayBetweenPlaces) {
    const std::vector<Point> places{{10, 50}, {30, 50}, {10, 50}};
    const Polygon limit = rectangle(0, 0, 100, 100);
    const std::vector<std::uint8_t> first{1, 0, 0}, second{0, 1, 0}, both{1, 1, 0};
    EXPECT_DOUBLE_EQ(area_of(nearer_ground(places, first, limit)), 2000);  // up to x = 20; its twin is passed over
    EXPECT_DOUBLE_EQ(area_of(nearer_ground(places, second, limit)), 8000);
    const MultiPolygon whole = nearer_ground(places, both, limit);
    ASSERT_EQ(whole.size(), 1U);  // the two cells are one piece
    EXPECT_DOUBLE_EQ(area_of(whole), 8000 + 2000);
}

}  // namespace
}  // namespace subcrop::geo
