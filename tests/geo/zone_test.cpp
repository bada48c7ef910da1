#include "subcrop/geo/zone.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <numeric>

#include "geo/geos_oracle.hpp"

namespace subcrop::geo {
namespace {

double area_of(const MultiPolygon& polygons) {
    return std::accumulate(polygons.begin(), polygons.end(), 0.0,
                           [](double sum, const Polygon& p) { return sum + area_m2(p); });
}

GeosOracle oracle_of(const MultiPolygon& zone) {
    std::vector<model::MapPolygon> map;
    for (const Polygon& polygon : zone) map.push_back({0, 1, polygon});
    return GeosOracle(map);
}

bool holds(const MultiPolygon& zone, Point place) { return !oracle_of(zone).ask(place, 1e-9).inside.empty(); }

TEST(Zone, OfAStraightLineHasTheAreaOfAStadium) {
    const Line line{{100, 50}, {400, 450}};
    const std::vector<double> width{20};
    const MultiPolygon zone = zone_about(line, width);
    ASSERT_EQ(zone.size(), 1u);
    const double exact = 2 * 20 * 500 + std::numbers::pi * 20 * 20;
    // 32 corners about a circle take a three-hundredth more than the circle
    EXPECT_GE(area_of(zone), exact);
    EXPECT_LT(area_of(zone), 1.02 * exact);
}

TEST(Zone, WidensAsTheWidthsSay) {
    const Line line{{0, 0}, {500, 0}, {1000, 0}};
    const std::vector<double> widths{10, 60, 10};
    const MultiPolygon zone = zone_about(line, widths);
    ASSERT_EQ(zone.size(), 1u);
    EXPECT_TRUE(oracle_of(zone).all_valid());
    for (const double side : {-1.0, 1.0}) {
        EXPECT_TRUE(holds(zone, {500, side * 59}));
        EXPECT_FALSE(holds(zone, {500, side * 62}));
        EXPECT_TRUE(holds(zone, {250, side * 34}));
        EXPECT_FALSE(holds(zone, {250, side * 37}));
        EXPECT_FALSE(holds(zone, {1, side * 12}));
    }
}

TEST(Zone, AboutAClosedContactHasAHole) {
    Line circle;
    for (int i = 0; i <= 90; ++i)
        circle.push_back(
            {300 * std::cos(i % 90 * std::numbers::pi / 45), 300 * std::sin(i % 90 * std::numbers::pi / 45)});
    const std::vector<double> widths(circle.size(), 30);
    const MultiPolygon zone = zone_about(circle, widths);
    ASSERT_EQ(zone.size(), 1u);
    ASSERT_EQ(zone[0].holes.size(), 1u);
    EXPECT_TRUE(oracle_of(zone).all_valid());
    EXPECT_NEAR(area_of(zone), std::numbers::pi * (330 * 330 - 270 * 270),
                0.05 * std::numbers::pi * (330 * 330 - 270 * 270));
    EXPECT_FALSE(holds(zone, {0, 0}));
}

TEST(Zone, OfWindingLinesIsValidAndHoldsEveryVertex) {
    Line line;
    std::vector<double> widths;
    for (int i = 0; i < 400; ++i) {
        const double t = i / 20.0;
        line.push_back({500000 + 40 * t * std::cos(t), 5600000 + 40 * t * std::sin(1.7 * t)});
        widths.push_back(15 + 10 * std::sin(0.3 * t));
    }
    const MultiPolygon zone = zone_about(line, widths);
    const GeosOracle oracle = oracle_of(zone);
    EXPECT_TRUE(oracle.all_valid());
    for (const Point p : line) EXPECT_EQ(oracle.ask(p, 1e-9).inside.size(), 1u);
}

TEST(Validity, ABowTieIsMadeTwoTriangles) {
    const Polygon bow{{{0, 0}, {10, 10}, {10, 0}, {0, 10}, {0, 0}}, {}};
    EXPECT_FALSE(is_valid(bow));
    const MultiPolygon parts = made_valid(bow);
    EXPECT_EQ(parts.size(), 2u);
    for (const Polygon& part : parts) EXPECT_TRUE(is_valid(part));
    EXPECT_NEAR(area_of(parts), 50, 1e-9);
    EXPECT_TRUE(is_valid({{{0, 0}, {10, 0}, {10, 10}, {0, 0}}, {}}));
    // a hole that sticks out of its shell
    EXPECT_FALSE(is_valid({{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}, {{{5, 5}, {15, 5}, {15, 8}, {5, 5}}}}));
}

}  // namespace
}  // namespace subcrop::geo
