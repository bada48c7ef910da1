// How far soil creeps against the law it is taken from, and where it then comes from on slopes of known shape.
#include "subcrop/geo/creep.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>

#include "subcrop/geo/terrain_at_stops.hpp"

namespace subcrop::geo {
namespace {

model::StopTerrain on_slope(double tangent) {
    model::StopTerrain ground;
    ground.height_m = 100;
    ground.slope_deg = std::atan(tangent) * 180 / std::numbers::pi;
    ground.plan_curvature = 0;
    return ground;
}

Terrain slope_of(const std::function<double(double, double)>& height) {
    HeightGrid grid(0, 1000, 10, 100, 100);
    for (std::int64_t r = 0; r < grid.rows(); ++r) {
        for (std::int64_t c = 0; c < grid.columns(); ++c)
            grid.set(c, r, height(grid.centre(c, r).x, grid.centre(c, r).y));
    }
    return Terrain(std::move(grid));
}

TEST(Creep, LengthGrowsWithSlopeAndCoverAsTheLawOfProductionHasIt) {
    const model::CreepSettings settings;
    // L = K S / P: in proportion to the slope.
    EXPECT_NEAR(creep_length_m(on_slope(0.2), {}, settings, 25), 25, 1e-9);
    EXPECT_NEAR(creep_length_m(on_slope(0.1), {}, settings, 25), 12.5, 1e-9);
    // P falls to 1/e in 43 cm (Heimsath and others 1997, from memory): 20 cm more cover is exp(20 / 43) = 1.592 times
    // as far.
    EXPECT_NEAR(creep_length_m(on_slope(0.2), 70, settings, 25) / creep_length_m(on_slope(0.2), 50, settings, 25),
                1.592, 5e-4);
    EXPECT_NEAR(creep_length_m(on_slope(0.2), 500, settings, 25), 50, 1e-9);  // no farther
    EXPECT_EQ(creep_length_m(on_slope(0.6), {}, settings, 25), creep_length_m(on_slope(0.3), {}, settings, 25));
    EXPECT_EQ(creep_length_m(on_slope(0.02), {}, settings, 25), 0);        // level ground
    EXPECT_EQ(creep_length_m(model::StopTerrain(), {}, settings, 25), 0);  // beyond the terrain
    model::StopTerrain hollow = on_slope(0.2), nose = on_slope(0.2);
    hollow.plan_curvature = -0.01;
    nose.plan_curvature = 0.01;
    EXPECT_GT(creep_length_m(hollow, {}, settings, 25), 25);
    EXPECT_LT(creep_length_m(nose, {}, settings, 25), 25);
    EXPECT_EQ(creep_length_m(on_slope(0.2), 80, settings, 0), 0);
    EXPECT_EQ(creep_length_m(on_slope(0.2), 0, settings, 25), 0);  // another material lies below it
}

TEST(Creep, SourcesStandForTheExponential) {
    const Terrain ground = slope_of([](double, double y) { return 0.2 * y; });
    const auto sources = soil_sources(ground, {500, 300}, 40);
    ASSERT_EQ(sources.size(), soil_parts);
    double mean = 0, before = 300;
    for (const Point& p : sources) {
        EXPECT_NEAR(p.x, 500, 1e-6);
        EXPECT_GT(p.y, before);
        before = p.y;
        mean += (p.y - 300) / static_cast<double>(soil_parts);
    }
    // Medians of six equal parts of an exponential: their mean is 0.943 of its length, by hand from -ln(1 - (i + 1/2) /
    // 6).
    EXPECT_NEAR(mean, 0.9434 * 40, 0.2);
    EXPECT_NEAR(sources.back().y - 300, -40 * std::log(1 - 5.5 / 6), 0.2);
}

TEST(Creep, StopsAtTheCrest) {
    // A ridge at y = 530: nothing comes from beyond it, however long the length.
    const Terrain ridge = slope_of([](double, double y) { return 100 - 0.2 * std::abs(y - 530); });
    const auto sources = soil_sources(ridge, {500, 480}, 60);
    ASSERT_EQ(sources.size(), soil_parts);
    for (const Point& p : sources) EXPECT_LT(p.y, 545);
    // Truncated at 50 m an exponential of 60 m has its mean at 60 - 50 / (exp(50 / 60) - 1) = 21.5 m.
    double mean = 0;
    for (const Point& p : sources) mean += (p.y - 480) / static_cast<double>(soil_parts);
    EXPECT_NEAR(mean, 21.5, 3);  // the way climbs in steps of 10 m
    EXPECT_TRUE(soil_sources(ridge, {500, 530}, 60).empty());
    EXPECT_TRUE(soil_sources(slope_of([](double, double) { return 5.0; }), {500, 480}, 60).empty());
}

TEST(Creep, IsTracedForEveryStop) {
    const Terrain ridge = slope_of([](double, double y) { return 100 - 0.2 * std::abs(y - 530); });
    const std::vector<Point> places{{500, 300}, {500, 530}, {5000, 300}};
    const auto ground = terrain_at(ridge, places, 2);
    const std::vector<std::optional<double>> cover_cm{std::nullopt, 60.0, 60.0};
    const auto sources = trace_creep(ridge, places, ground, cover_cm, {}, 25, 2);
    ASSERT_EQ(sources.size(), 3u);
    EXPECT_EQ(sources[0].size(), soil_parts);
    EXPECT_NEAR(sources[0].back().y - 300, -25 * std::log(1 - 5.5 / 6), 0.3);
    EXPECT_TRUE(sources[1].empty());  // on the crest
    EXPECT_TRUE(sources[2].empty());  // beyond the terrain
}

}  // namespace
}  // namespace subcrop::geo
