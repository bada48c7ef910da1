#include "subcrop/infer/trial.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "infer/invented_survey.hpp"
#include "infer/trial/wrong_draft.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/infer/average_precision.hpp"

namespace subcrop::infer {
namespace {

TEST(AveragePrecision, IsTheMeanPrecisionDownToEachHit) {
    // Ranked: hit, miss, hit, miss: (1/1 + 2/3) / 2. Definition of Manning, Raghavan and Schuetze 2008, section 8.4
    // (from memory).
    EXPECT_NEAR(average_precision({{0.1, false}, {0.9, true}, {0.5, true}, {0.7, false}}), (1 + 2.0 / 3) / 2, 1e-12);
    EXPECT_EQ(average_precision({{0.5, false}}), 0);
    EXPECT_EQ(average_precision({}), 0);
}

TEST(WrongDraft, AWarpHasTheStatedRootMeanSquareAndIsSmooth) {
    double sum = 0, steepest = 0;
    int count = 0;
    for (unsigned seed = 0; seed < 40; ++seed) {
        const Warp warp(50, 1000, seed);
        for (double x = 0; x < 10000; x += 2500) {
            const Point p{x, 2 * x}, q = warp.displaced(p), r = warp.displaced({x + 1, 2 * x});
            sum += std::pow(q.x - p.x, 2) + std::pow(q.y - p.y, 2);
            steepest = std::max(steepest, std::hypot(r.x - q.x - 1, r.y - q.y));
            ++count;
        }
    }
    // 160 vectors of two normal components: the relative standard error of the root mean square is 1 / sqrt(4 x 160) =
    // 0.04.
    EXPECT_NEAR(std::sqrt(sum / count), 50, 4 * 0.04 * 50);
    EXPECT_LT(steepest, 6 * 50.0 / 1000);  // each gradient has the standard deviation 50 / (sqrt(2) 1000)
    const Point still = Warp(0, 1000, 1).displaced({3, 4});
    EXPECT_EQ(still, (Point{3, 4}));
}

TEST(WrongDraft, EdgesThatPolygonsShareTheyStillShare) {
    InventedSurvey invented;
    const auto polygons = warped(invented.survey.map, Warp(80, 1500, 3), 50);
    ProblemLog problems;
    const geo::UnitMap map(polygons, 2, {}, problems);
    EXPECT_EQ(problems.size(), 0U);  // neither gaps nor overlaps
    ASSERT_EQ(map.contacts().size(), 1U);
    EXPECT_GE(map.contacts()[0].line.size(), 81U);  // 4000 m in pieces of 50 m
}

TEST(WrongDraft, ADiscOfOneUnitChangesHands) {
    InventedSurvey invented;
    const Polygon disc = geo::circle({0, 0}, 300);  // half of it on either unit
    double areas[2] = {};
    for (const model::MapPolygon& p : relabelled(invented.survey.map, 1, 0, disc))
        areas[p.unit] += geo::area_m2(p.polygon);
    EXPECT_NEAR(areas[0], 8e6 + geo::area_m2(disc) / 2, 1);
    EXPECT_NEAR(areas[1], 8e6 - geo::area_m2(disc) / 2, 1);
}

TEST(Trial, PlainSoilsFindTheErrorsAndARightDraftIsLeftAlone) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const auto judged = invented.judge();
    Progress silent;
    TrialOptions options;
    options.seeds = 2;
    options.warps = {1, 8};
    const Trial trial = try_draft(invented.survey, *judged.reduced, *judged.map, options, 1, silent);
    EXPECT_EQ(trial.stops, invented.survey.stops.size());
    EXPECT_EQ(trial.unwarped.conflicts, 0U);
    EXPECT_EQ(trial.unwarped.wrong_stops, 0);
    EXPECT_EQ(trial.unwarped.spoilt, 0);
    EXPECT_EQ(trial.unwarped.zones_cover, 1);
    ASSERT_EQ(trial.warped.size(), 2U);
    const TrialFigures& far = trial.warped[1];
    EXPECT_EQ(far.warp_m, 200);
    EXPECT_EQ(far.drafts, 2U);
    EXPECT_GT(far.wrong_stops, 0.01);
    EXPECT_LT(far.wrong_stops, 0.3);
    EXPECT_GT(far.found, far.found_by_distance);
    EXPECT_GT(far.found, 0.8);  // the two soils hardly overlap
    EXPECT_LE(far.ground_wrong_after, far.ground_wrong_before + 0.01);
    EXPECT_GE(far.half_width_m, 25);
}

TEST(Trial, ThreadsChangeNothing) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const auto judged = invented.judge();
    Progress silent;
    TrialOptions options;
    options.seeds = 1;
    options.warps = {2};
    const Trial one = try_draft(invented.survey, *judged.reduced, *judged.map, options, 1, silent);
    const Trial three = try_draft(invented.survey, *judged.reduced, *judged.map, options, 3, silent);
    EXPECT_EQ(one.warped[0].found, three.warped[0].found);
    EXPECT_EQ(one.warped[0].zones_cover, three.warped[0].zones_cover);
    EXPECT_EQ(one.warped[0].conflicts, three.warped[0].conflicts);
}

}  // namespace
}  // namespace subcrop::infer
