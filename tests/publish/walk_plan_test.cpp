#include "publish/field/walk_plan.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <numeric>
#include <random>

#include "publish/field/look_for.hpp"

namespace subcrop::publish {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

/// Ground that rises to the east by `slope`.
geo::Terrain ramp(double slope) {
    geo::HeightGrid grid(0, 2000, 10, 300, 200);
    for (std::int64_t row = 0; row < grid.rows(); ++row)
        for (std::int64_t column = 0; column < grid.columns(); ++column)
            grid.set(column, row, 100 + slope * grid.centre(column, row).x);
    return geo::Terrain(std::move(grid));
}

TEST(WalkPlan, NaismithsRule) {
    EXPECT_NEAR(naismith_minutes(3 * 1609.344, 0), 60, 1e-9);   // three miles, an hour
    EXPECT_NEAR(naismith_minutes(0, 2000 * 0.3048), 60, 1e-9);  // 2,000 feet, another
    EXPECT_NEAR(naismith_minutes(10 * 1609.344, 3000 * 0.3048), 200 + 90, 1e-9);
}

TEST(WalkPlan, ALegGathersItsAscentOnly) {
    const geo::Terrain terrain = ramp(0.1);
    const Leg up = leg_between({500, 1000}, {1500, 1000}, {.terrain = &terrain}),
              down = leg_between({1500, 1000}, {500, 1000}, {.terrain = &terrain});
    EXPECT_NEAR(up.ascent_m, 100, 0.01);  // heights are kept in single precision
    EXPECT_NEAR(down.ascent_m, 0, 0.01);
    EXPECT_DOUBLE_EQ(up.length_m, 1000);
    EXPECT_NEAR(up.minutes, naismith_minutes(1000, 100), 0.01);
    EXPECT_DOUBLE_EQ(leg_between({500, 1000}, {1500, 1000}, {}).ascent_m, 0);
}

TEST(WalkPlan, AnOpenWalkKeepsItsOrder) {
    const std::vector<Point> places{{0, 0}, {1000, 0}, {2000, 0}};
    const std::vector<double> gains{1, 1, 1};
    const std::vector<std::size_t> order{2, 0, 1};
    const WalkPlan plan = plan_walk(places, gains, order, {}, {});
    EXPECT_THAT(plan.order, ElementsAre(2, 0, 1));
    ASSERT_EQ(plan.legs.size(), 3U);
    EXPECT_EQ(plan.legs[0].length_m, 0);
    EXPECT_DOUBLE_EQ(plan.length_m, 3000);
}

TEST(WalkPlan, ARoundIsNearlyAsShortAsTheShortest) {
    for (unsigned seed = 1; seed <= 20; ++seed) {
        std::mt19937 random(seed);
        const auto coordinate = [&] { return static_cast<double>(random() % 5000); };
        std::vector<Point> places;
        for (int i = 0; i < 7; ++i) places.push_back({coordinate(), coordinate()});
        const Point from{coordinate(), coordinate()};
        std::vector<std::size_t> order(places.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        const WalkPlan plan =
            plan_walk(places, std::vector<double>(7, 1.0), order, {}, {.from = from, .hours = {}, .stop_minutes = 20});
        ASSERT_EQ(plan.order.size(), 7U);
        ASSERT_EQ(plan.legs.size(), 8U);  // and back
        double shortest = std::numeric_limits<double>::infinity();
        do {
            double length = distance(from, places[order[0]]) + distance(places[order.back()], from);
            for (std::size_t i = 1; i < order.size(); ++i) length += distance(places[order[i - 1]], places[order[i]]);
            shortest = std::min(shortest, length);
        } while (std::next_permutation(order.begin(), order.end()));
        EXPECT_GE(plan.length_m, shortest - 1e-6) << seed;
        EXPECT_LE(plan.length_m, shortest * 1.05) << seed;
    }
}

TEST(WalkPlan, AShortDayLeavesOutWhatGainsLeastForItsTime) {
    // On the way, far off, and far off but worth it.
    const std::vector<Point> places{{500, 0}, {0, 4000}, {1000, 0}, {0, -4000}};
    const std::vector<double> gains{1, 0.1, 1, 50};
    const std::vector<std::size_t> order{0, 1, 2, 3};
    const WalkPlan plan = plan_walk(places, gains, order, {}, {.from = Point{0, 0}, .hours = 3.5, .stop_minutes = 20});
    EXPECT_THAT(plan.too_far, ElementsAre(1));
    EXPECT_EQ(plan.order.size(), 3U);
    EXPECT_LE(plan.walk_minutes + 3 * 20, 3.5 * 60);
    const WalkPlan none = plan_walk(places, gains, order, {}, {.from = Point{0, 0}, .hours = 0.3, .stop_minutes = 20});
    EXPECT_THAT(none.order, IsEmpty());
    EXPECT_THAT(none.too_far, ElementsAre(0, 1, 2, 3));
    const WalkPlan all = plan_walk(places, gains, order, {}, {.from = Point{0, 0}, .hours = 24, .stop_minutes = 20});
    EXPECT_THAT(all.too_far, IsEmpty());
}

// A square of 1 km between the places; ways keep 2 m off its corners.
TEST(WalkPlan, LegsGoRoundNoGoAreas) {
    const std::vector<Polygon> areas{{{{0, 0}, {1000, 0}, {1000, 1000}, {0, 1000}, {0, 0}}, {}}};
    const geo::WaysRound ways(areas);
    const geo::Terrain terrain = ramp(0.1);
    const WalkLand land{.terrain = &terrain, .ways = &ways};
    const Leg leg = leg_between({-500, 1400}, {1400, 500}, land);
    const double expected = std::hypot(1502, 398) + std::hypot(398, 502);  // by the corner 1002, 1002
    EXPECT_NEAR(leg.length_m, expected, 1e-6);
    EXPECT_NEAR(leg.straight_m, std::hypot(1900, 900), 1e-9);
    EXPECT_THAT(leg.way, ElementsAre(Point{-500, 1400}, Point{1002, 1002}, Point{1400, 500}));
    EXPECT_FALSE(leg.crosses_no_go);
    EXPECT_NEAR(leg.minutes, naismith_minutes(expected, leg.ascent_m), 1e-9);

    // Without a way round, all is as if the area were open.
    const Leg into = leg_between({-500, 500}, {500, 500}, {.ways = &ways});
    EXPECT_TRUE(into.crosses_no_go);
    EXPECT_NEAR(into.length_m, 1000, 1e-9);

    // Straight, the far place would come second; on foot the near ones of this side come first.
    const std::vector<Point> places{{-100, 500}, {1100, 500}, {-300, 900}};
    const std::vector<double> gains{1, 1, 1};
    const std::vector<std::size_t> order{0, 1, 2};
    const WalkPlan plan =
        plan_walk(places, gains, order, {.ways = &ways}, {.from = Point{-100, 100}, .hours = {}, .stop_minutes = 20});
    double legs = 0;
    for (const Leg& one : plan.legs) {
        EXPECT_FALSE(one.crosses_no_go);
        legs += one.length_m;
    }
    EXPECT_NEAR(plan.length_m, legs, 1e-9);
    EXPECT_NEAR(plan.walk_minutes, naismith_minutes(legs, 0), 1e-6);
}

TEST(WalkPlan, SoilColoursHavePlainNames) {
    const auto name = [](const char* chip) { return plain_colour(field::parse_munsell(chip).value->chips.front()); };
    EXPECT_EQ(name("N 5/"), "grey");
    EXPECT_EQ(name("10YR 2/1"), "black");
    EXPECT_EQ(name("5Y 8/1"), "white");
    EXPECT_EQ(name("7.5YR 5/8"), "orange");
    EXPECT_EQ(name("2.5YR 4/6"), "red");
    EXPECT_EQ(name("5YR 4/4"), "reddish brown");
    EXPECT_EQ(name("10YR 3/3"), "dark brown");
    EXPECT_EQ(name("10YR 5/2"), "greyish brown");
    EXPECT_EQ(name("5Y 5/4"), "olive");
    EXPECT_EQ(name("5GY 5/2"), "greenish grey");
    EXPECT_EQ(name("10R 4/6"), "red");
}

}  // namespace
}  // namespace subcrop::publish
