// The ground's shape on surfaces whose slope and curvature are known; tests/io/terrain_reader_test.cpp compares with
// GDAL.
#include "subcrop/geo/terrain.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>

namespace subcrop::geo {
namespace {

constexpr double degree = std::numbers::pi / 180;

/// 60 x 50 cells of 10 m from (1000, 2000) to (1600, 2500).
HeightGrid grid_of(const std::function<double(double, double)>& height) {
    HeightGrid grid(1000, 2500, 10, 60, 50);
    for (std::int64_t r = 0; r < grid.rows(); ++r) {
        for (std::int64_t c = 0; c < grid.columns(); ++c) {
            const Point p = grid.centre(c, r);
            grid.set(c, r, height(p.x, p.y));
        }
    }
    return grid;
}

TEST(Terrain, APlaneIsReadExactly) {
    // 0.3 up to the east, 0.4 up to the north: slope atan(0.5), down to the south-west by south.
    const Terrain ground(grid_of([](double x, double y) { return 0.3 * (x - 1000) + 0.4 * (y - 2000); }));
    for (const Point& p : {Point{1300, 2200}, Point{1111, 2333}, Point{1570, 2470}}) {
        EXPECT_NEAR(ground.surface(p, 25)->slope_deg, std::atan(0.5) / degree, 1e-4) << p.x;
    }
    EXPECT_NEAR(*ground.height({1234.5, 2345.6}), 0.3 * 234.5 + 0.4 * 345.6, 1e-4);
    const Surface surface = *ground.surface({1300, 2200});
    EXPECT_NEAR(*surface.aspect_deg, 180 + std::atan2(0.3, 0.4) / degree, 1e-4);
    EXPECT_NEAR(surface.uphill.x, 0.6, 1e-5);
    EXPECT_NEAR(surface.uphill.y, 0.8, 1e-5);
    EXPECT_NEAR(surface.profile_curvature, 0, 1e-6);
    EXPECT_NEAR(surface.plan_curvature, 0, 1e-6);
    // In the middle of the first cell the neighbours beyond the edge are continued in a straight line.
    EXPECT_NEAR(ground.surface({1005, 2495})->slope_deg, std::atan(0.5) / degree, 1e-3);
}

TEST(Terrain, CurvatureOfADomeAndABowl) {
    // z = -+ (r^2) / 2R: the second derivative is 1 / R in every direction (Zevenbergen & Thorne's quadratic is then
    // exact).
    for (const double sign : {1.0, -1.0}) {
        const Terrain ground(grid_of([&](double x, double y) {
            return 100 - sign * ((x - 1300) * (x - 1300) + (y - 2250) * (y - 2250)) / (2 * 400);
        }));
        for (const double spacing : {10.0, 40.0}) {
            const Surface surface = *ground.surface({1365, 2285}, spacing);
            EXPECT_NEAR(surface.profile_curvature, sign / 400, 3e-5) << spacing;
            EXPECT_NEAR(surface.plan_curvature, sign / 400, 3e-5) << spacing;
        }
    }
    // A valley along x: concave along the contour only where one stands on its axis and looks up it.
    const Terrain valley(grid_of([](double x, double y) { return 0.1 * x + (y - 2255) * (y - 2255) / 800; }));
    const Surface floor = *valley.surface({1305, 2255});
    EXPECT_NEAR(floor.plan_curvature, -1.0 / 400, 3e-5);
    EXPECT_NEAR(floor.profile_curvature, 0, 1e-5);
    EXPECT_NEAR(*floor.aspect_deg, 270, 1e-3);
}

TEST(Terrain, LevelGroundHasNoAspect) {
    const Terrain ground(grid_of([](double, double) { return 7.0; }));
    EXPECT_EQ(ground.surface({1300, 2200})->slope_deg, 0);
    EXPECT_FALSE(ground.surface({1300, 2200})->aspect_deg);
    EXPECT_EQ(ground.upslope_path({1300, 2200}, 100, 10).size(), 1u);
}

TEST(Terrain, VoidsAndEdges) {
    HeightGrid grid = grid_of([](double x, double) { return 0.2 * x; });
    grid.clear(30, 20);
    const Terrain ground(std::move(grid));
    EXPECT_FALSE(ground.height({1305, 2295}));
    EXPECT_FALSE(ground.surface({1305, 2295}));
    EXPECT_NEAR(*ground.height({1314, 2295}), 0.2 * 1315, 1e-3);  // of the cells known
    EXPECT_NEAR(ground.surface({1315, 2295})->slope_deg, std::atan(0.2) / degree, 0.2);
    EXPECT_FALSE(ground.height({999.9, 2200}));
    EXPECT_FALSE(ground.height({1300, 2500.1}));
    EXPECT_TRUE(ground.height({1600, 2000}));
}

TEST(Terrain, UpslopePathClimbsToTheCrest) {
    const Terrain cone(grid_of([](double x, double y) { return 200 - 0.3 * std::hypot(x - 1300, y - 2250); }));
    const auto path = cone.upslope_path({1450, 2350}, 1000, 5);
    // 180 m lie between; the path ends where the cone's tip turns the gradient.
    EXPECT_NEAR(static_cast<double>(path.size()), 180 / 5 + 1, 3);
    EXPECT_LT(distance(path.back(), {1300, 2250}), 15);
    for (std::size_t i = 1; i < path.size(); ++i) {
        EXPECT_NEAR(distance(path[i - 1], path[i]), 5, 1e-9);
        EXPECT_NEAR((path[i].y - 2250) * 150 - (path[i].x - 1300) * 100, 0, 2500);  // straight to the tip
    }
    EXPECT_EQ(cone.upslope_path({1450, 2350}, 20, 5).size(), 5u);
    EXPECT_EQ(cone.upslope_path({3000, 3000}, 20, 5).size(), 1u);
}

TEST(Terrain, StepsWidenTheLook) {
    // Rounded to whole metres, the slope over `hillslope_m` errs by a hundredth (rms) at most.
    const auto truth = [](double x, double y) { return 0.11 * x + 0.07 * y; };
    const Terrain ground(grid_of([&](double x, double y) { return std::round(truth(x, y)); }), 1);
    EXPECT_EQ(Terrain(HeightGrid(0, 0, 5, 1, 1)).hillslope_m(), 20);
    double squares = 0;
    int count = 0;
    for (double x = 1100; x < 1500; x += 7.3) {
        for (double y = 2100; y < 2400; y += 7.3) {
            const Surface s = *ground.surface({x, y}, ground.hillslope_m());
            const double tangent = std::tan(s.slope_deg * degree);
            squares += std::pow(tangent * s.uphill.x - 0.11, 2);
            ++count;
        }
    }
    EXPECT_LT(std::sqrt(squares / count), 0.01);
}

}  // namespace
}  // namespace subcrop::geo
