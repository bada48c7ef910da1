// Hollows filled and ways of water, against the same definitions worked by slower means.
#include "subcrop/geo/drainage.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

namespace subcrop::geo {
namespace {

HeightGrid random_ground(unsigned seed, std::int64_t columns, std::int64_t rows) {
    std::mt19937 random(seed);
    std::uniform_int_distribution<int> height(0, 40), chance(0, 19);
    HeightGrid grid(0, static_cast<double>(rows) * 10, 10, columns, rows);
    for (std::int64_t r = 0; r < rows; ++r)
        for (std::int64_t c = 0; c < columns; ++c)
            if (chance(random) > 0) grid.set(c, r, height(random));
    return grid;
}

/// Levels of water by Planchon & Darboux 2001 (Catena 46:159-176): flooded to the brim, then drained until nothing
/// changes.
std::vector<double> drained(const HeightGrid& grid) {
    const std::int64_t columns = grid.columns(), rows = grid.rows();
    std::vector<double> level(static_cast<std::size_t>(columns * rows), 1e9);
    for (bool changed = true; changed;) {
        changed = false;
        for (std::int64_t r = 0; r < rows; ++r) {
            for (std::int64_t c = 0; c < columns; ++c) {
                const auto own = grid.at(c, r);
                if (!own) continue;
                double lowest = 1e9;
                for (int j = -1; j <= 1; ++j)
                    for (int i = -1; i <= 1; ++i)
                        lowest = std::min(lowest, grid.known(c + i, r + j)
                                                      ? level[static_cast<std::size_t>((r + j) * columns + c + i)]
                                                      : -1e9);  // water leaves there
                double& here = level[static_cast<std::size_t>(r * columns + c)];
                const double now = std::max(*own, lowest);
                if (now < here) here = now, changed = true;
            }
        }
    }
    return level;
}

TEST(Drainage, FillsToTheLevelOfTheLowestWayOut) {
    for (unsigned seed = 0; seed < 20; ++seed) {
        const HeightGrid grid = random_ground(seed, 23, 17);
        const Drainage water(grid);
        const std::vector<double> level = drained(grid);
        for (std::int64_t r = 0; r < grid.rows(); ++r) {
            for (std::int64_t c = 0; c < grid.columns(); ++c) {
                if (!grid.known(c, r)) continue;
                // The least steps add up to less than a millimetre here.
                EXPECT_NEAR(*water.filled_m(c, r), level[static_cast<std::size_t>(r * grid.columns() + c)], 1e-3);
            }
        }
    }
}

TEST(Drainage, EveryCellDrainsAndNoGroundIsLost) {
    for (unsigned seed = 20; seed < 30; ++seed) {
        const HeightGrid grid = random_ground(seed, 40, 31);
        const Drainage water(grid);
        double leaving = 0;
        std::size_t known = 0;
        for (std::int64_t r = 0; r < grid.rows(); ++r) {
            for (std::int64_t c = 0; c < grid.columns(); ++c) {
                if (!grid.known(c, r)) continue;
                ++known;
                std::int64_t column = c, row = r;
                int steps = 0;
                while (const auto next = water.drains_to(column, row)) {
                    const auto to_column = static_cast<std::int64_t>(*next) % grid.columns(),
                               to_row = static_cast<std::int64_t>(*next) / grid.columns();
                    ASSERT_LT(*water.filled_m(to_column, to_row), *water.filled_m(column, row));
                    column = to_column;
                    row = to_row;
                    ASSERT_LT(++steps, 2000);
                }
                if (column == c && row == r) leaving += water.area_m2(c, r);
                // Water leaves only beside a void or the edge.
                bool edge = false;
                for (int j = -1; j <= 1; ++j)
                    for (int i = -1; i <= 1; ++i) edge |= !grid.known(column + i, row + j);
                EXPECT_TRUE(edge);
            }
        }
        EXPECT_DOUBLE_EQ(leaving, 100.0 * static_cast<double>(known));
    }
}

TEST(Drainage, SteepestOfEight) {
    // A tilted roof: each row drains to the middle column, diagonally where that is steeper over its longer way.
    HeightGrid grid(0, 50, 10, 5, 5);
    for (std::int64_t r = 0; r < 5; ++r)
        for (std::int64_t c = 0; c < 5; ++c)
            grid.set(c, r, 100 + 10.0 * std::abs(static_cast<double>(c) - 2) - 2.0 * static_cast<double>(r));
    const Drainage water(grid);
    EXPECT_EQ(water.drains_to(1, 1), 1u * 5 + 2);  // 10 over one cell beats 12 over root 2
    EXPECT_EQ(water.drains_to(2, 1), 2u * 5 + 2);
    EXPECT_FALSE(water.drains_to(2, 4));
    EXPECT_DOUBLE_EQ(water.area_m2(2, 4), 100.0 * 25);
    EXPECT_DOUBLE_EQ(water.area_m2(2, 1), 100.0 * 10);
}

/// A valley whose stream runs along x; hillsides of 0.2.
Terrain valley(std::int64_t columns, std::int64_t rows) {
    HeightGrid grid(0, static_cast<double>(rows) * 10, 10, columns, rows);
    for (std::int64_t r = 0; r < rows; ++r)
        for (std::int64_t c = 0; c < columns; ++c)
            grid.set(c, r,
                     500 + 0.2 * std::abs(grid.centre(c, r).y - static_cast<double>(rows) * 5 - 5) -
                         0.002 * grid.centre(c, r).x);
    return Terrain(std::move(grid));
}

TEST(WaysToStream, DownTheHillside) {
    const Terrain ground = valley(200, 61);
    DrainageOptions options;
    options.stream_from_m2 = 20'000;
    const std::vector<Point> places{{1505, 505}, {1505, 310}, {5000, 5000}, {55, 305}};
    const auto ways = ways_to_stream(ground, places, options, 2);
    ASSERT_TRUE(ways[0]);
    EXPECT_NEAR(ways[0]->distance_m, 190, 10.01);
    EXPECT_NEAR(ways[0]->above_m, 38, 2.1);
    ASSERT_TRUE(ways[1]);
    EXPECT_EQ(ways[1]->distance_m, 0);
    EXPECT_EQ(ways[1]->above_m, 0);
    EXPECT_FALSE(ways[2]);
}

TEST(WaysToStream, TilesAgreeWithTheWhole) {
    const Terrain ground = valley(240, 121);
    std::vector<Point> places;
    for (double x = 15; x < 2400; x += 90)
        for (double y = 15; y < 1200; y += 70) places.push_back({x, y});
    DrainageOptions whole, tiled;
    whole.stream_from_m2 = tiled.stream_from_m2 = 20'000;
    whole.margin_m = tiled.margin_m = 700;
    tiled.tile_cells = 30;
    const auto a = ways_to_stream(ground, places, whole, 1), b = ways_to_stream(ground, places, tiled, 2);
    std::size_t both = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        ASSERT_EQ(a[i].has_value(), b[i].has_value()) << places[i].x << ' ' << places[i].y;
        if (!a[i]) continue;
        ++both;
        EXPECT_EQ(a[i]->distance_m, b[i]->distance_m);
        EXPECT_EQ(a[i]->above_m, b[i]->above_m);
    }
    EXPECT_GT(both, 300u);
}

}  // namespace
}  // namespace subcrop::geo
