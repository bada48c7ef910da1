#include "infer/censored_median.hpp"

#include <gtest/gtest.h>

namespace subcrop::infer {
namespace {

TEST(CensoredMedian, IsThatOfKaplanAndMeier) {
    // By hand: 6/7, 5/7 and 4/7 are deeper than 40, 55 and 60; then one of three at risk: 4/7 x 2/3 = 0.38 below 80.
    EXPECT_EQ(censored_median({{40, true}, {60, true}, {60, false}, {80, true}, {90, false}, {120, false}, {55, true}}), 80);
    EXPECT_EQ(censored_median({{40, true}, {60, false}, {70, false}, {90, false}}), std::nullopt);
    EXPECT_EQ(censored_median({{90, true}, {40, true}, {70, true}, {60, true}}), 65);
}

TEST(CensoredMedian, WithoutHolesThatEndedAboveRockIsThePlainOne) {
    EXPECT_EQ(censored_median({{10, true}, {30, true}, {20, true}}), 20);
    EXPECT_EQ(censored_median({}), std::nullopt);
}

TEST(CensoredMedian, DeepHolesThatMissedRockPushItDown) {
    EXPECT_EQ(censored_median({{30, true}, {50, true}, {70, true}}), 50);
    EXPECT_EQ(censored_median({{30, true}, {50, true}, {70, true}, {100, false}, {100, false}}), 70);
}

}  // namespace
}  // namespace subcrop::infer
