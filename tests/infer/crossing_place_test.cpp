#include "infer/contacts/crossing_place.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace subcrop::infer {
namespace {

TEST(CrossingPlace, IsUniformWithinItsGap) {
    const std::vector<GapMass> one{{100, 200, 0, 0.7}};
    const CrossingPlace place = place_crossing(one);
    EXPECT_NEAR(place.middle, 150, 0.01);
    EXPECT_NEAR(place.low, 105, 0.01);
    EXPECT_NEAR(place.high, 195, 0.01);
}

TEST(CrossingPlace, AddsTheGapsUp) {
    // 0.2 of the probability over 10 m, 0.6 over 20 m, 0.2 over 40 m: 5 % lies before 2.5 m, half before 20 m, 95 %
    // before 60 m
    const std::vector<GapMass> gaps{{0, 10, 0, 0.1}, {10, 30, 0, 0.3}, {30, 70, 0, 0.1}};
    const CrossingPlace place = place_crossing(gaps);
    EXPECT_NEAR(place.low, 2.5, 0.01);
    EXPECT_NEAR(place.middle, 20, 0.01);
    EXPECT_NEAR(place.high, 60, 0.01);
}

TEST(CrossingPlace, IsAsWideAsThePositionErrorWhereStopsStandClose) {
    const std::vector<GapMass> narrow{{50, 50.001, 8, 1}};
    const CrossingPlace place = place_crossing(narrow);
    EXPECT_NEAR(place.middle, 50, 0.01);
    EXPECT_NEAR(place.high - place.middle, 8 * 1.6449, 0.01);  // the 95 % point of the normal distribution
    EXPECT_NEAR(place.middle - place.low, 8 * 1.6449, 0.01);
}

}  // namespace
}  // namespace subcrop::infer
