#include "io/polygon_screen.hpp"

#include <gmock/gmock.h>

#include <cmath>
#include <numbers>
#include <random>

#include "io/polygon_repair.hpp"

namespace subcrop::io {
namespace {

Ring closed(Ring ring) {
    ring.push_back(ring.front());
    return ring;
}

TEST(PolygonScreen, PassesPlainPolygons) {
    PolygonScreen screen;
    const Ring square = closed({{0, 0}, {10, 0}, {10, 10}, {0, 10}});
    EXPECT_TRUE(screen.surely_valid({square, {}}));
    EXPECT_TRUE(screen.surely_valid({{square.rbegin(), square.rend()}, {}}));
    EXPECT_TRUE(screen.surely_valid({square, {closed({{2, 2}, {3, 2}, {3, 3}}), closed({{6, 6}, {7, 6}, {7, 7}})}}));
    EXPECT_TRUE(screen.surely_valid({closed({{0, 0}, {5, 0}, {5, 0}, {10, 0}, {10, 10}, {0, 10}}), {}}))
        << "repeated and straight points";
}

TEST(PolygonScreen, StopsEveryKindOfInvalidPolygon) {
    PolygonScreen screen;
    const Ring square = closed({{0, 0}, {10, 0}, {10, 10}, {0, 10}});
    const std::pair<const char*, Polygon> cases[] = {
        {"bow tie", {closed({{0, 0}, {10, 10}, {10, 0}, {0, 10}}), {}}},
        {"spike", {closed({{0, 0}, {10, 0}, {20, 0}, {10, 0}, {10, 10}, {0, 10}}), {}}},
        {"spike at the start", {closed({{20, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}, {10, 0}}), {}}},
        {"touches itself", {closed({{0, 0}, {10, 0}, {10, 10}, {5, 0}, {0, 10}}), {}}},
        {"hole outside", {square, {closed({{12, 2}, {13, 2}, {13, 3}})}}},
        {"hole across", {square, {closed({{8, 2}, {13, 2}, {13, 3}})}}},
        {"hole in hole", {square, {closed({{1, 1}, {9, 1}, {9, 9}, {1, 9}}), closed({{4, 4}, {5, 4}, {5, 5}})}}},
        {"same hole twice", {square, {closed({{4, 4}, {5, 4}, {5, 5}}), closed({{4, 4}, {5, 4}, {5, 5}})}}},
        {"no area", {closed({{0, 0}, {10, 0}, {5, 0}}), {}}},
        {"two points", {{{0, 0}, {1, 1}, {0, 0}}, {}}},
        {"one point four times", {{{0, 0}, {0, 0}, {0, 0}, {0, 0}}, {}}},
        {"empty", {}},
        {"not finite", {closed({{0, 0}, {NAN, 0}, {10, 10}}), {}}},
    };
    for (const auto& [what, polygon] : cases) EXPECT_FALSE(screen.surely_valid(polygon)) << what;
}

// GEOS is the oracle: where the screen says yes, GEOS must too; and it must say yes often, or it would save nothing.
TEST(PolygonScreen, NeverPassesWhatGeosFindsInvalid) {
    PolygonScreen screen;
    std::mt19937_64 random(5);
    std::uniform_real_distribution<double> unit(0, 1);
    int passed = 0, invalid = 0;
    for (int trial = 0; trial < 4000; ++trial) {
        const int corners = 4 + static_cast<int>(unit(random) * 20);
        Ring shell;
        for (int i = 0; i < corners; ++i) {
            // Stars whose corners stray in angle: some fold over themselves, and coarse rounding makes touches.
            const double angle = 2 * std::numbers::pi * (i + (unit(random) - 0.5) * 2.2) / corners;
            const double radius = 5 + 5 * unit(random);
            shell.push_back(
                {std::round(radius * std::cos(angle) * 4) / 4, std::round(radius * std::sin(angle) * 4) / 4});
        }
        Polygon polygon{closed(shell), {}};
        if (trial % 3 == 0) {
            const double x = std::round(unit(random) * 8 - 4), y = std::round(unit(random) * 8 - 4);
            polygon.holes.push_back(closed({{x, y}, {x + 1, y}, {x + 1, y + 1}}));
        }
        const bool valid = repaired(polygon).was_valid;
        const bool pass = screen.surely_valid(polygon);
        EXPECT_TRUE(valid || !pass) << "trial " << trial;
        passed += pass ? 1 : 0;
        invalid += valid ? 0 : 1;
    }
    EXPECT_GT(passed, 400);
    EXPECT_GT(invalid, 400);
}

TEST(PolygonRepair, NamesReasonAndPlace) {
    const Repair bow = repaired({closed({{0, 0}, {10, 10}, {10, 0}, {0, 10}}), {}});
    EXPECT_FALSE(bow.was_valid);
    EXPECT_EQ(bow.reason, "self-intersection");
    ASSERT_TRUE(bow.position);
    EXPECT_EQ(*bow.position, (Point{5, 5}));
    // Two triangles of 10 by 5, by hand.
    ASSERT_EQ(bow.polygons.size(), 2U);
    EXPECT_DOUBLE_EQ(std::abs(twice_signed_area(bow.polygons[0].shell)), 50);
    EXPECT_DOUBLE_EQ(std::abs(twice_signed_area(bow.polygons[1].shell)), 50);
    EXPECT_TRUE(repaired({closed({{0, 0}, {10, 0}, {5, 0}}), {}}).polygons.empty());
}

}  // namespace
}  // namespace subcrop::io
