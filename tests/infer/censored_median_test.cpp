#include "infer/description/censored_median.hpp"

#include <gtest/gtest.h>

#include <map>
#include <string>

#include "field/figures.hpp"

namespace subcrop::infer {
namespace {

TEST(CensoredMedian, IsThatOfKaplanAndMeier) {
    // By hand: 6/7, 5/7 and 4/7 are deeper than 40, 55 and 60; then one of three at risk: 4/7 x 2/3 = 0.38 below 80.
    EXPECT_EQ(censored_median({{40, true}, {60, true}, {60, false}, {80, true}, {90, false}, {120, false}, {55, true}}),
              80);
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

// survfit(Surv(cm, reached) ~ 1, weights = weight, conf.type = "log-log", conf.int = 0.9) and quantile(fit, 0.5) of R's
// survival 3.5-3: see tests/reference/survival.R. Both take what is exactly one half as midway, and ties are many.
TEST(CensoredMedian, MedianAndIntervalAreThoseOfRSurvival) {
    std::map<std::string, std::vector<Depth>> cases;
    for (const figures::Row& row : figures::read("depths.csv"))
        cases[row.text("case")].push_back({row.number("cm"), row.number("reached") != 0, row.number("weight")});
    const std::vector<figures::Row> medians = figures::read("depth_medians.csv");
    ASSERT_EQ(medians.size(), 40U);
    for (const figures::Row& row : medians) {
        const MedianInterval found = censored_median_interval(cases.at(row.text("case")));
        const auto same = [&](const std::optional<double>& value, const char* column) {
            ASSERT_EQ(value.has_value(), !row.text(column).empty()) << "case " << row.text("case") << ' ' << column;
            if (value) {
                EXPECT_NEAR(*value, row.number(column), 1e-9) << "case " << row.text("case") << ' ' << column;
            }
        };
        same(found.median, "median");
        same(found.low, "low");
        same(found.high, "high");
    }
}

}  // namespace
}  // namespace subcrop::infer
