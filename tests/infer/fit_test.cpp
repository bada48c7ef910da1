#include "subcrop/infer/fit.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "infer/answer/reckoning.hpp"
#include "infer/invented_survey.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {
namespace {

using testing::HasSubstr;

TEST(Fit, AgreesWhereSoilAndDraftDo) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const auto judged = invented.judge();
    for (std::size_t s = 0; s < judged.fit.stops.size(); ++s) {
        EXPECT_EQ(judged.fit.stops[s].verdict, Verdict::agrees)
            << s << ": " << to_string(judged.fit.stops[s].verdict) << ", " << judged.fit.stops[s].typicality << ", "
            << judged.fit.reason(s);
    }
    EXPECT_GT(judged.fit.skill.accuracy, 0.95);
    EXPECT_FALSE(judged.fit.calibrated);  // no rock was seen
}

TEST(Fit, FlagsTheStopWhoseSoilIsOfTheOtherUnit) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(700, 120, "5YR 4/6", "L");  // western soil, 700 m inside the eastern unit
    const auto judged = invented.judge();
    const std::size_t last = invented.survey.stops.size() - 1;
    const StopFit& odd = judged.fit.stops[last];
    EXPECT_EQ(odd.verdict, Verdict::conflicts);
    EXPECT_EQ(odd.mapped_unit, 1);
    EXPECT_EQ(odd.fitted_unit, 0);
    EXPECT_EQ(odd.neighbour_unit, 0);
    EXPECT_NEAR(odd.contact_distance_m, 700, 1e-6);
    EXPECT_GT(odd.soil_log10_odds, 1);
    EXPECT_NEAR(odd.p_mapped + odd.p_fitted, 1, 1e-9);
    EXPECT_THAT(judged.fit.reason(last), HasSubstr("For WES over EAS: "));
    EXPECT_THAT(judged.fit.reason(last), HasSubstr("moist subsoil colour 5YR 4/6"));
    for (std::size_t s = 0; s < last; ++s) EXPECT_EQ(judged.fit.stops[s].verdict, Verdict::agrees) << s;
}

TEST(Fit, AWrongStopInsideThePositionErrorIsNearTheContact) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(5, 130, "5YR 4/6", "L");
    const auto judged = invented.judge();
    EXPECT_EQ(judged.fit.stops.back().verdict, Verdict::near_contact);
}

TEST(Fit, NothingNotedIsNoEvidenceAndOffTheMapIsOffTheMap) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(500, 0, "", "");
    invented.add_stop(9000, 0, "5YR 4/6", "L");
    invented.add_stop(9000, 100, "", "");
    const auto judged = invented.judge();
    const std::size_t n = invented.survey.stops.size();
    EXPECT_EQ(judged.fit.stops[n - 3].verdict, Verdict::no_evidence);
    EXPECT_EQ(judged.fit.stops[n - 3].fitted_unit, 1);  // the draft is all there is
    EXPECT_EQ(judged.fit.reason(n - 3), "Nothing was noted here that tells units apart.");
    EXPECT_EQ(judged.fit.stops[n - 2].verdict, Verdict::off_map);
    EXPECT_EQ(judged.fit.stops[n - 2].fitted_unit, 0);  // by its soil
    EXPECT_EQ(judged.fit.stops[n - 1].verdict, Verdict::off_map);
    EXPECT_EQ(judged.fit.stops[n - 1].fitted_unit, model::no_unit);
}

TEST(Fit, SoilOfNoUnitIsUnlikeAnyUnit) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(700, 120, "5BG 8/4", "S");  // pale blue-green sand: nothing like it on either side
    const auto judged = invented.judge();
    EXPECT_EQ(judged.fit.stops.back().verdict, Verdict::unlike_any_unit);
    EXPECT_LT(judged.fit.stops.back().typicality, 0.01);
    EXPECT_THAT(judged.fit.reason(invented.survey.stops.size() - 1), HasSubstr("Unlike the soil of every unit"));
}

TEST(Fit, RockSeenOutweighsTheDraft) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(900, 0, "", "").unit_seen = 0;
    const auto judged = invented.judge();
    const StopFit& stop = judged.fit.stops.back();
    EXPECT_EQ(stop.fitted_unit, 0);
    // By hand: the draft leaves WES only its share of the ground in the 5 % of unsmooth error, 0.025 against 0.975, and
    // rock seen is worth 0.98 to 0.02 (two units): 0.0245 / (0.0245 + 0.0195). That its ground is wrong as a whole adds
    // less than the share of such ground, 0.025.
    EXPECT_GT(stop.p_fitted, 0.0245 / (0.0245 + 0.0195) - 1e-3);
    EXPECT_LT(stop.p_fitted, 0.0245 / (0.0245 + 0.0195) + 0.025);
    EXPECT_THAT(judged.fit.reason(invented.survey.stops.size() - 1), HasSubstr("WES bedrock was observed here"));
}

TEST(Fit, APriorOfHerOwnDiscountsNoStopWithoutACue) {
    InventedSurvey usual, hers;
    for (InventedSurvey* survey : {&usual, &hers}) survey->add_usual_stops();
    // Carried with 0.425 instead of 0.225 where nothing was noted: what every stop has in common is no evidence.
    ASSERT_EQ(hers.survey.parent_material.set("prior", "", {0.5, 0.15, 0.1, 0.1, 0.05, 0.05, 0.05}), "");
    const auto by_default = usual.judge(), by_hers = hers.judge();
    ASSERT_EQ(by_hers.fit.stops.size(), by_default.fit.stops.size());
    for (std::size_t s = 0; s < by_hers.fit.stops.size(); ++s) {
        EXPECT_NEAR(by_hers.fit.stops[s].p_transported, 0.425, 1e-6);
        EXPECT_NEAR(by_hers.fit.stops[s].p_mapped, by_default.fit.stops[s].p_mapped, 1e-6) << s;
    }
}

TEST(Fit, CarriedSoilSaysLittle) {
    InventedSurvey invented;
    invented.add_usual_stops();
    model::Stop& stop = invented.add_stop(700, 120, "5YR 4/6", "L");
    stop.landform = invented.survey.texts->intern("floodplain");
    const auto judged = invented.judge();
    const StopFit& carried = judged.fit.stops.back();
    EXPECT_GT(carried.p_transported, 0.5);
    EXPECT_EQ(carried.verdict, Verdict::transported);
    InventedSurvey other;
    other.add_usual_stops();
    other.add_stop(700, 120, "5YR 4/6", "L");
    EXPECT_GT(carried.p_mapped, other.judge().fit.stops.back().p_mapped);
}

TEST(Fit, EvidenceAddsUpToTheOdds) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(700, 120, "5YR 4/6", "L");
    const auto judged = invented.judge();
    const std::size_t last = invented.survey.stops.size() - 1;
    double odds = 0;
    for (const EvidenceRow& row : judged.fit.evidence(last, model::EvidenceRows::top)) {
        odds += (row.unit == judged.fit.stops[last].fitted_unit ? 1 : -1) * row.weight * row.log_likelihood;
    }
    EXPECT_NEAR(odds / std::log(10.0), judged.fit.stops[last].soil_log10_odds, 1e-4);
}

TEST(Fit, ThreadsAndOrderOfRowsChangeNothing) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(700, 120, "5YR 4/6", "L");
    const auto one = invented.judge(1);
    const auto four = invented.judge(4);
    InventedSurvey turned;
    turned.add_usual_stops();
    turned.add_stop(700, 120, "5YR 4/6", "L");
    std::reverse(turned.survey.stops.begin(), turned.survey.stops.end());
    const auto reversed = turned.judge(1);
    const std::size_t n = one.fit.stops.size();
    for (std::size_t s = 0; s < n; ++s) {
        EXPECT_EQ(one.fit.stops[s].p_mapped, four.fit.stops[s].p_mapped);
        EXPECT_NEAR(one.fit.stops[s].p_mapped, reversed.fit.stops[n - 1 - s].p_mapped, 1e-6);
        EXPECT_EQ(one.fit.stops[s].verdict, reversed.fit.stops[n - 1 - s].verdict);
    }
}

TEST(Fit, ContactsAreSupportedOrDoubted) {
    InventedSurvey invented;
    invented.add_usual_stops();
    for (double y = -300; y <= 300; y += 100) invented.add_stop(-40, y, "5YR 4/6", "L");
    const auto supported = invented.judge();
    ASSERT_EQ(supported.fit.contacts.size(), 1u);
    EXPECT_EQ(review_of(supported.fit.contacts[0]), Review::supported);
    EXPECT_EQ(supported.fit.contacts[0].stops_against, 0u);

    InventedSurvey other;
    other.add_usual_stops();
    // western soil beyond the contact, all along it: the 20 usual stops within reach of it are outnumbered
    for (double y = -1900; y <= 1900; y += 100) other.add_stop(70, y, "5YR 4/6", "L");
    const auto doubted = other.judge();
    EXPECT_EQ(review_of(doubted.fit.contacts[0]), Review::doubtful);
    EXPECT_GE(doubted.fit.contacts[0].stops_against, 35u);

    EXPECT_EQ(review_of({}), Review::untested);
}

TEST(Fit, StopsThatDisagreeAreNotTooFew) {
    const auto review = [](std::uint32_t stops_for, std::uint32_t against, double log10_odds) {
        return review_of(ContactSupport{stops_for, against, log10_odds});
    };
    EXPECT_EQ(review(6, 6, 0.1), Review::doubtful);
    EXPECT_EQ(review(6, 6, -0.9), Review::doubtful);
    EXPECT_EQ(review(8, 6, 0.0), Review::doubtful);
    EXPECT_EQ(review(9, 6, 0.0), Review::untested);    // more for it, but faintly
    EXPECT_EQ(review(6, 6, -1.0), Review::supported);  // those for it speak far more plainly
    EXPECT_EQ(review(2, 2, 0.0), Review::untested);    // too few indeed
}

TEST(UnitSummary, CountsWhatWasNoted) {
    InventedSurvey invented;
    invented.add_usual_stops();
    invented.add_stop(-900, 0, "", "").unit_seen = 0;
    const auto judged = invented.judge();
    const auto units = summarise_units(invented.survey, *judged.reduced, *judged.map, judged.fit,
                                       relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems));
    ASSERT_EQ(units.size(), 2u);
    EXPECT_NEAR(units[0].area_m2, 2000.0 * 4000.0, 1e-3);
    EXPECT_EQ(units[0].stops, 101u);
    EXPECT_EQ(units[0].stops_rock_seen, 1u);
    EXPECT_THAT(units[0].moist.chips.text(), HasSubstr("5YR 4/6 (25 % of 100)"));
    EXPECT_THAT(units[1].texture.classes.text(), HasSubstr("C ("));
}

// A wrong name falls to a common unit sooner than to a rare one, so that rock of a rare one is no sign of a slip.
TEST(Fit, RockOfARareUnitIsBelievedAsMuchAsThatOfACommonOne) {
    InventedSurvey invented;
    invented.survey.units.resize(4);
    invented.survey.units[2].code = "DYK";  // a body of 0.02 % of the map
    invented.survey.units[3].code = "GNE";  // stands in the legend, is drawn nowhere
    invented.survey.map.push_back({2, 3, {{{3000, 0}, {3060, 0}, {3060, 60}, {3000, 60}, {3000, 0}}, {}}});
    invented.add_usual_stops();
    const std::size_t first = invented.survey.stops.size();
    for (const model::UnitIndex seen : {0, 2, 3}) invented.add_stop(900, 110 + 40 * seen, "", "").unit_seen = seen;
    const auto judged = invented.judge();
    for (std::size_t s = first; s < first + 3; ++s) {
        EXPECT_EQ(judged.fit.stops[s].mapped_unit, 1);
        EXPECT_EQ(judged.fit.stops[s].fitted_unit, invented.survey.stops[s].unit_seen);
        // By hand: draft right 0.95, else a unit by its share q; rock named rightly 0.98, wrongly for v over u 0.02 q_v
        // / (1 - q_u). With q_u near a half: odds 0.05 x 0.98 / (0.95 x 0.02 x 2), 1.29 to 1, whatever the rock's own
        // share.
        EXPECT_NEAR(judged.fit.stops[s].p_fitted, 0.56, 0.04) << s;
    }
}

TEST(Fit, ChancesOfNamesSumToOne) {
    const std::vector<double> ground{0.6, 0.3, 0.0999, 0.0001};
    for (std::size_t truly = 0; truly < 4; ++truly) {
        double sum = 0;
        for (std::size_t named = 0; named < 4; ++named) sum += chance_of_name(named, truly, ground, 0.98);
        EXPECT_NEAR(sum, 1, 1e-12);
    }
}

}  // namespace
}  // namespace subcrop::infer
