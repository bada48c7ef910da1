#include "subcrop/infer/disputed_area.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "infer/invented_survey.hpp"

namespace subcrop::infer {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

std::vector<DisputedArea> disputed(const InventedSurvey& invented, const InventedSurvey::Judged& judged) {
    return disputed_areas(invented.survey, *judged.map, judged.fit, {});
}

TEST(DisputedArea, ARightDraftHasNone) {
    InventedSurvey invented;
    invented.add_usual_stops();
    EXPECT_THAT(disputed(invented, invented.judge()), IsEmpty());
    InventedSurvey nothing;
    EXPECT_THAT(disputed(nothing, nothing.judge()), IsEmpty());
}

TEST(DisputedArea, ABodyOfWesternRockInTheEastIsFoundAndOutlined) {
    InventedSurvey invented;
    invented.add_usual_stops();
    // Without bedrock observed here and there no area is redrawn.
    for (std::size_t s = 0; s < invented.survey.stops.size(); s += 4)
        invented.survey.stops[s].unit_seen = invented.survey.stops[s].position.x < 0 ? 0 : 1;
    for (int i = 0; i < 9; ++i) {  // 3 x 3 stops 80 m apart about (1000, 600), rock seen at four of them
        model::Stop& stop = invented.add_stop(920 + 80 * (i % 3), 520 + 80 * (i / 3), "5YR 4/6", "L");
        if (i % 2 == 1) stop.unit_seen = 0;
    }
    const auto judged = invented.judge();
    const auto grounds = disputed(invented, judged);
    ASSERT_EQ(grounds.size(), 1U);
    const DisputedArea& d = grounds.front();
    EXPECT_EQ(d.drafted, 1);
    EXPECT_EQ(d.like, 0);
    EXPECT_GE(d.stops, 5U);  // the middle and the four with rock, if no more
    EXPECT_LE(d.stops, 10U);
    EXPECT_EQ(d.stops_rock_seen, 4U);
    EXPECT_GT(d.log10_odds, 4 * 1.5);  // each rock seen alone speaks log10(0.98 / 0.02)
    EXPECT_NEAR(d.middle.x, 1000, 60);
    EXPECT_NEAR(d.middle.y, 600, 60);
    // Five to nine stops 80 m apart stand for some 80 x 80 m each; outer cells reach farther.
    EXPECT_GT(d.area_m2, 4 * 80 * 80);
    EXPECT_LT(d.area_m2, 9 * 80 * 80 * 2.5);
    for (const Polygon& polygon : d.ground)
        for (const Point p : polygon.shell) EXPECT_GE(p.x, 0);  // within the eastern unit
    EXPECT_THAT(d.reason, HasSubstr("in an area drawn as EAS"));
    EXPECT_THAT(d.reason, HasSubstr("bedrock of WES was observed at 4"));
    // The probabilities follow.
    const StopFit& middle = judged.fit.stops[invented.survey.stops.size() - 5];
    EXPECT_GT(middle.p_disputed, 0.8);
    EXPECT_EQ(middle.verdict, Verdict::conflicts);
}

}  // namespace
}  // namespace subcrop::infer
