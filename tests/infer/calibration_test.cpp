#include "infer/answer/calibration.hpp"

#include <gtest/gtest.h>

#include "infer/invented_survey.hpp"

namespace subcrop::infer {
namespace {

// Soil that tells the two units apart and rock seen at 40 stops, at 4 of them the other unit's: counted by hand.
TEST(Calibration, CountsHowOftenTheSoilWasRightWhereRockWasSeen) {
    InventedSurvey invented;
    invented.add_usual_stops();
    for (std::size_t i = 0; i < 40; ++i) {
        model::Stop& stop = invented.survey.stops[i * 5];
        const bool otherwise = i % 10 == 3;
        stop.unit_seen = (stop.position.x < 0) != otherwise ? 0 : 1;
    }
    invented.add_stop(-500, 3, "", "").unit_seen = 0;  // nothing noted of the soil: it has nothing to say
    const auto judged = invented.judge();
    const auto bins = calibration(*judged.fit.reckoning);
    std::size_t stops = 0, right = 0;
    for (std::size_t i = 0; i < bins.size(); ++i) {
        stops += bins[i].stops;
        right += bins[i].right;
        EXPECT_EQ(bins[i].low, i == 0 ? 0 : bins[i - 1].high);
        if (bins[i].stops == 0) continue;
        EXPECT_GE(bins[i].mean_p, bins[i].low);
        EXPECT_LE(bins[i].mean_p, bins[i].high);
    }
    EXPECT_EQ(bins.back().high, 1);
    EXPECT_EQ(stops, 40U);
    EXPECT_EQ(right, 36U);
    // what page and screen say of it elsewhere is the same count
    EXPECT_EQ(judged.fit.skill.known_by, "observed bedrock");
    EXPECT_EQ(judged.fit.skill.stops, 40U);
    EXPECT_DOUBLE_EQ(judged.fit.skill.accuracy, 0.9);
}

}  // namespace
}  // namespace subcrop::infer
