// The examples at the head of public headers, as they stand there: they compile and do what they say.
#include <gtest/gtest.h>

#include <cstdint>
#include <optional>
#include <vector>

#include "subcrop/geo/crs.hpp"
#include "subcrop/geo/drainage.hpp"
#include "subcrop/geo/overlay.hpp"

namespace subcrop::geo {
namespace {

TEST(HeaderExample, Crs) {
    Crs from("EPSG:4326"), to("EPSG:32633");
    std::vector<Point> points{{15.0, 52.0}, {15.1, 52.1}};
    Transformation t(from, to, points, {.allow_ballpark = false});
    std::vector<std::uint8_t> good = t.apply(points);
    std::optional<double> worst_m = t.report().accuracy_m;
    EXPECT_EQ(good, (std::vector<std::uint8_t>{1, 1}));
    EXPECT_NEAR(points[0].x, 500000, 1e-6);  // 15 degrees east is the middle of zone 33
    EXPECT_TRUE(worst_m.has_value());
}

TEST(HeaderExample, Drainage) {
    HeightGrid heights(0, 50, 10, 5, 5);
    for (std::int64_t column = 0; column < 5; ++column) {
        for (std::int64_t row = 0; row < 5; ++row) heights.set(column, row, static_cast<double>(10 - row));
    }
    const std::int64_t column = 2, row = 4;
    const unsigned threads = 1;
    const std::vector<Point> places{{25, 25}};
    Drainage water(heights);
    double area = water.area_m2(column, row);
    const Terrain terrain(std::move(heights));
    auto ways = ways_to_stream(terrain, places, {}, threads);
    EXPECT_EQ(area, 500);  // a plane that dips south: five cells of 100 m2 above one another
    EXPECT_EQ(ways.size(), 1u);
}

TEST(HeaderExample, Overlay) {
    const Polygon polygon{{{0, 0}, {1000, 0}, {1000, 1000}, {0, 1000}, {0, 0}}, {}};
    const Point centre{0, 0};
    const std::vector<Point> places{{250, 500}, {750, 500}};
    const std::vector<std::uint8_t> chosen{1, 0};
    MultiPolygon both = common_ground({polygon}, {circle(centre, 400)});
    MultiPolygon rest = ground_without({polygon}, {circle(centre, 400)});
    MultiPolygon near = nearer_ground(places, chosen, polygon);
    EXPECT_EQ(both.size(), 1u);
    EXPECT_EQ(rest.size(), 1u);
    ASSERT_EQ(near.size(), 1u);
    for (const Point& p : near[0].shell) EXPECT_LE(p.x, 500 + 1e-6);
}

}  // namespace
}  // namespace subcrop::geo
