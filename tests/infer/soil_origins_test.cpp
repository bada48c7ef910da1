// Soil that has crept down the slope: what it says of the unit below, by hand, and on a survey with one straight
// contact.
#include "infer/evidence/soil_origins.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "infer/invented_survey.hpp"
#include "infer/two_units.hpp"
#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::MatchesRegex;
using testing::Not;
using testing::StartsWith;

TEST(SoilOrigins, LikelihoodBelowByHand) {
    // The draft has unit 0 below; a third of the soil comes from unit 1. Densities 1, 8 and 2; e = 0.1, shares 0.5,
    // 0.3, 0.2.
    const std::vector<Origin> origins{{0, {0, 0, 0, 0, 1, 1}, 1.0f}};
    Separation separation(3);
    separation.at(0, 1) = separation.at(1, 0) = 9;
    // Of the 15 pairs 4 x 2 differ: 8 x 9 / (2 x 36) = 1. Gaussians 3 standard deviations apart, blended a third: the
    // mean of their exponents lacks (1/3 x 2/3) 9 / 2 = 1.
    EXPECT_NEAR(separation.log_scale(origins[0].sources), 1, 1e-12);
    std::array<double, 3> likelihood{0, std::log(8.0), std::log(2.0)};
    likelihood_below(origins, separation, std::vector<double>{0.5, 0.3, 0.2}, 0.1, likelihood);
    // (0.9 e 8^(1/3) + 0.1 x 0.5 x 1) / (0.9 + 0.05)
    EXPECT_NEAR(std::exp(likelihood[0]), (0.9 * std::exp(1.0) * 2 + 0.05) / 0.95, 1e-6);
    EXPECT_NEAR(std::exp(likelihood[1]), 8, 1e-6);  // the draft has it nowhere near below: its own soil
    EXPECT_NEAR(std::exp(likelihood[2]), 2, 1e-6);
}

TEST(SoilOrigins, NothingChangesWhereAllComesFromTheUnitBelow) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const auto judged = invented.judge();
    const std::vector<Point> sources{{-500, 3}, {-510, 3}, {-520, 3}, {-530, 3}, {-540, 3}, {-550, 3}};
    EXPECT_TRUE(joint_origins(*judged.map, {-480, 3}, sources, {}, 25).empty());
    const auto across = joint_origins(*judged.map, {-5, 3},
                                      std::vector<Point>{{0, 3}, {5, 3}, {10, 3}, {15, 3}, {20, 3}, {30, 3}}, {}, 25);
    double all = 0;
    for (const Origin& origin : across) all += static_cast<double>(origin.share);
    EXPECT_NEAR(all, 1, 1e-6);
}

/// Ground that rises to the east: the soil of each stop comes from up to 60 m east of it.
void tilt_up_to_the_east(InventedSurvey& invented) {
    model::CreepPaths paths;
    paths.length_m = 30;
    for (const model::Stop& stop : invented.survey.stops) {
        const Point p = stop.position;
        auto& sources = paths.soil_from.emplace_back();
        for (const double d : {5.0, 12.0, 22.0, 34.0, 50.0, 70.0}) sources.push_back({p.x + d, p.y});
    }
    invented.survey.creep = {paths};
    invented.survey.settings.creep.length_m = paths.length_m;
}

TEST(SoilOrigins, SoilOfTheUnitAboveIsNoConflictJustBelowTheContact) {
    for (const bool creep : {false, true}) {
        InventedSurvey invented;
        invented.survey.contact_sd_m = 10;
        invented.add_usual_stops();
        invented.add_stop(-25, 130, "5Y 5/3", "C");   // eastern soil, 25 m inside the western unit
        invented.add_stop(-700, 130, "5Y 5/3", "C");  // the same, far from any eastern ground
        if (creep) tilt_up_to_the_east(invented);
        const auto judged = invented.judge();
        const std::size_t below = invented.survey.stops.size() - 2, far = below + 1;
        EXPECT_NE(judged.fit.stops[far].verdict, Verdict::agrees);
        EXPECT_FALSE(judged.fit.crept(far));
        EXPECT_EQ(judged.fit.crept(below), creep);
        if (creep) {
            EXPECT_EQ(judged.fit.stops[below].verdict, Verdict::agrees) << judged.fit.reason(below);
            EXPECT_EQ(judged.fit.stops[below].upslope_unit, 1);
            EXPECT_THAT(
                judged.fit.reason(below),
                MatchesRegex(
                    "Creep: about 56 % of this soil should come from EAS, drawn 34 m upslope\\. That lowers the odds "
                    "for EAS over WES from [0-9.]+ to 1 to [0-9.]+ to 1\\. The soil supports EAS over WES.*"));
            // The rows of the reckoning add up to the likelihood of the mapped unit over the other.
            double log_odds = 0;
            for (const EvidenceRow& row : judged.fit.evidence(below, model::EvidenceRows::all)) {
                log_odds += (row.unit == 0 ? 1 : -1) * row.weight * row.log_likelihood;
            }
            EXPECT_GT(log_odds, -1);
        } else {
            EXPECT_NE(judged.fit.stops[below].verdict, Verdict::agrees);
            EXPECT_THAT(judged.fit.reason(below), Not(HasSubstr("upslope")));
        }
    }
}

/// Creep and transported soil are two things: a reader must not take the one sentence for the other.
TEST(SoilOrigins, CreepAndTransportedSoilAreToldInSentencesOfTheirOwn) {
    InventedSurvey invented;
    invented.survey.contact_sd_m = 10;
    invented.add_usual_stops();
    invented.add_stop(-25, 130, "5Y 5/3", "C");
    invented.add_stop(-25, -270, "5Y 5/3", "C").landform = invented.survey.texts->intern("flood plain");
    tilt_up_to_the_east(invented);
    const auto judged = invented.judge();
    const std::size_t crept = invented.survey.stops.size() - 2, brought = crept + 1;
    ASSERT_TRUE(judged.fit.crept(crept));
    EXPECT_LT(judged.fit.stops[crept].p_transported, 0.5);
    EXPECT_THAT(judged.fit.reason(crept), HasSubstr("Creep: about"));
    ASSERT_GT(judged.fit.stops[brought].p_transported, 0.5);
    EXPECT_THAT(judged.fit.reason(brought),
                StartsWith("The soil is probably transported (alluvium: flood plain), so it says "
                           "little about the bedrock. "));
    for (const std::size_t stop : {crept, brought}) EXPECT_THAT(judged.fit.reason(stop), Not(HasSubstr("carried")));
    EXPECT_THAT(judged.fit.reason(crept), Not(HasSubstr("transported")));
}

/// "The draft is probably wrong here" never stands beside creep that supports the draft without a word on what is left.
TEST(SoilOrigins, AConflictThatCreepExplainsInPartSaysWhatIsLeft) {
    std::size_t conflicts = 0;
    for (const double x : {-25.0, -30.0, -35.0, -40.0, -50.0}) {
        InventedSurvey invented;
        invented.survey.contact_sd_m = 10;
        invented.add_usual_stops();
        for (int i = 0; i < 3; ++i) invented.add_stop(x, 130 + 30 * i, "5Y 5/3", "C").unit_seen = 1;
        tilt_up_to_the_east(invented);
        const auto judged = invented.judge();
        for (std::size_t s = invented.survey.stops.size() - 3; s < invented.survey.stops.size(); ++s) {
            if (judged.fit.stops[s].verdict != Verdict::conflicts || !judged.fit.crept(s)) continue;
            ++conflicts;
            EXPECT_THAT(judged.fit.reason(s), AllOf(StartsWith("Creep: "), HasSubstr(" contradicts the draft. ")));
        }
    }
    EXPECT_GT(conflicts, 0U);
}

TEST(SoilOrigins, RockSeenIsExempt) {
    InventedSurvey invented;
    invented.survey.contact_sd_m = 10;
    invented.add_usual_stops();
    invented.add_stop(-25, 130, "5Y 5/3", "C").unit_seen = 1;
    tilt_up_to_the_east(invented);
    const auto judged = invented.judge();
    EXPECT_EQ(judged.fit.stops.back().fitted_unit, 1);
}

/// Where a field puts a contact that lies right, when each stop's soil comes from 40 m up the slope.
double contact_moved_to(bool followed) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const auto judged = invented.judge();
    Testimony testimony = no_testimony();
    for (double y = -900; y < 900; y += 40) {
        for (double x = -110; x < 120; x += 20) {
            const Point source{x + 40, y};
            const double says = source.x < 0 ? 2 : -2;
            add_stop(testimony, {x, y}, says, -says, 0, 3);
            if (followed) testimony.soil_from.back().assign(6, source);
        }
    }
    return fit_two_units(testimony, *judged.map, displacement_of(60, 600, 10, 0.05)).true_place({0, 0}).x;
}

TEST(SoilOrigins, AFieldThatLooksUpTheSlopeLeavesARightContactAlone) {
    EXPECT_LT(contact_moved_to(false), -30);  // soil of the upper unit lies 40 m below its contact
    EXPECT_NEAR(contact_moved_to(true), 0, 8);
}

}  // namespace
}  // namespace subcrop::infer
