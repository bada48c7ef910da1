#include "subcrop/infer/unit_summary.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "infer/invented_survey.hpp"
#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/munsell.hpp"

namespace subcrop::infer {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

/// The usual survey and, on WES, stops whose notes are counted by hand below.
struct Described {
    InventedSurvey invented;
    InventedSurvey::Judged judged;
    std::vector<UnitSummary> units;

    void describe(DescribedBy by = DescribedBy::draft) {
        judged = invented.judge();
        units = summarise_units(invented.survey, *judged.reduced, *judged.map, judged.fit,
                                relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems),
                                {.described_by = by});
    }

    Text text(const char* words) { return invented.survey.texts->intern(words); }

    struct Layer {
        const char* designation;
        double top, bottom;
        const char* colour = "";
        double fragments = -1;
        const char* kind = "";
        const char* reaction = "";
    };
    /// A stop with rock of WES seen, so that it counts for WES whatever its soil is like.
    void add(double x, double y, const std::vector<Layer>& layers) {
        model::Stop& stop = invented.add_stop(x, y, "", "");
        stop.unit_seen = 0;
        stop.first_horizon = static_cast<std::uint32_t>(invented.survey.horizons.size());
        stop.horizon_count = static_cast<std::uint32_t>(layers.size());
        for (const Layer& layer : layers) {
            model::Horizon horizon;
            horizon.row = stop.row;
            horizon.designation = text(layer.designation);
            horizon.top_cm = layer.top;
            if (layer.bottom > 0) horizon.bottom_cm = layer.bottom;
            horizon.colour_moist = text(layer.colour);
            if (layer.fragments >= 0) horizon.fragments_pct = layer.fragments;
            horizon.fragment_kind = text(layer.kind);
            horizon.effervescence = text(layer.reaction);
            invented.survey.horizons.push_back(horizon);
        }
    }
};

// Every figure counted by hand; the medians of depths by Kaplan and Meier 1958.
TEST(UnitSummary, CountsWhatWasNotedByHand) {
    Described d;
    d.add(-1500, 10,
          {{"A", 0, 20, "10YR 3/3", 5, "shale", "NE"},
           {"Bt1", 20, 40, "5YR 4/6", 10, "shale", "VS"},
           {"Bt2", 40, 60, "5YR 4/4", 20, "", "SL"},
           {"R", 60, 0}});
    d.add(-1500, 20, {{"A", 0, 10}, {"Bw", 10, 80, "5YR 4/6", 30, "shale", "NE"}, {"R", 80, 0}});
    d.add(-1500, 30, {{"A", 0, 30}, {"Bw", 30, 70, "10YR 6/8", 40, "quartz", "NE"}, {"Cr", 70, 100}, {"R", 100, 0}});
    d.add(-1500, 40, {{"A", 0, 20}, {"Bw", 20, 40, "5YR 5/6"}});
    d.add(-1500, 50, {{"A", 0, 25}, {"Bw", 25, 90}});
    d.describe();
    const UnitSummary& west = d.units[0];
    EXPECT_EQ(west.stops, 5U);
    EXPECT_EQ(west.stops_rock_seen, 5U);
    EXPECT_EQ(west.area_m2, 8e6);
    EXPECT_THAT(west.moist.chips.values, ElementsAre(Counted{"5YR 4/6", 2}, Counted{"10YR 6/8", 1},
                                                     Counted{"5YR 4/4", 1}, Counted{"5YR 5/6", 1}));
    EXPECT_EQ(west.moist.chip, "5YR 4/6");
    EXPECT_EQ(west.moist.chips.text(2), "5YR 4/6 (40 % of 5), 10YR 6/8 (20 %)");
    EXPECT_EQ(west.fragments.median_pct, 25);  // 10, 20, 30, 40: the topsoil's 5 is no part of it
    EXPECT_EQ(west.fragments.min_pct, 10);
    EXPECT_EQ(west.fragments.max_pct, 40);
    EXPECT_THAT(west.fragments.kinds.values, ElementsAre(Counted{"shale", 2}, Counted{"quartz", 1}));
    EXPECT_THAT(west.reaction.values, ElementsAre(Counted{"NE", 2}, Counted{"SL", 1}));  // the strongest at each stop
    // A, B, R twice (Bt1 and Bt2 are one), A, B twice, A, B, Cr, R once: the first of equals by name
    EXPECT_EQ(west.profile.text(), "A, B (2 of 5 profiles), median depths: A 0 to 23 cm, B from 23 cm");
    EXPECT_EQ(west.rock.reached, 3U);
    EXPECT_EQ(west.rock.deeper, 2U);
    EXPECT_EQ(west.rock.min_cm, 60);
    EXPECT_EQ(west.rock.max_cm, 80);             // Cr at 70 is rock, weathered or not
    EXPECT_EQ(west.rock.median_cm, 75);          // 60, 70, 80 reached, 40 and 90 not: 3/4, 1/2 at 70, so midway to 80
    EXPECT_EQ(west.weathered_rock.reached, 1U);  // 70; the two with R alone have none
    EXPECT_EQ(west.weathered_rock.deeper, 2U);
    EXPECT_FALSE(west.weathered_rock.median_cm);  // one hole is no median
    EXPECT_EQ(west.weathered_rock.min_cm, 70);
    EXPECT_EQ(west.weathered_rock.max_cm, 70);
    EXPECT_THAT(unit_description(d.invented.survey, west),
                HasSubstr(" One hole reached weathered rock at 70 cm; 2 ended above it."));
    const UnitSummary& east = d.units[1];
    EXPECT_EQ(east.stops, 0U);
    EXPECT_TRUE(east.moist.chip.empty());
    EXPECT_FALSE(east.texture.distribution);
    EXPECT_TRUE(east.profile.text().empty());
    EXPECT_EQ(unit_description(d.invented.survey, east),
              "EAS: drawn over 800 ha. No stop stands on it. Its bedrock was not observed. Its only contact "
              "(4.0 km) is inferred. It has too few stops nearby to test.");
}

// The definition itself, over every chip: no other of the chips noted has a smaller sum of differences.
TEST(UnitSummary, TheMiddleChipIsARealOneWithTheLeastSumOfDifferences) {
    Described d;
    const char* const noted[] = {"10YR 4/3", "10YR 5/3", "10YR 5/3", "2.5Y 7/8",  "2.5Y 7/8",
                                 "2.5Y 7/8", "10YR 4/4", "10YR 5/4", "7.5YR 4/4", "10YR 5/4 to 5/6"};
    double y = 0;
    for (const char* colour : noted) d.add(-1500, y += 10, {{"A", 0, 20}, {"Bw", 20, 40, colour}});
    d.describe();
    const UnitSummary& west = d.units[0];
    const auto sum_from = [&](const std::string& chip) {
        double sum = 0;
        for (const Counted& other : west.moist.chips.values)
            sum += static_cast<double>(other.count) *
                   field::colour_difference(field::to_lab(field::parse_munsell(chip).value->chips[0]),
                                            field::to_lab(field::parse_munsell(other.name).value->chips[0]));
        return sum;
    };
    for (const Counted& chip : west.moist.chips.values) {
        EXPECT_LE(sum_from(west.moist.chip), sum_from(chip.name)) << chip.name;
        EXPECT_EQ(field::parse_munsell(chip.name).value->chips.size(), 1U) << chip.name;  // a range became one chip
    }
    EXPECT_EQ(west.moist.chips.total(), 10U);
    EXPECT_NE(west.moist.chip, "2.5Y 7/8");  // the commonest, and far from all others
}

TEST(UnitSummary, DescriptionSaysNoMoreThanWasNoted) {
    Described d;
    d.invented.add_usual_stops();
    d.invented.survey.units[0].name = "Western Red";
    d.invented.survey.units[0].lithology = "red sandstone";
    d.describe();
    const std::string text = unit_description(d.invented.survey, d.units[0]);
    EXPECT_THAT(text, HasSubstr("Western Red (WES), red sandstone: drawn over 800 ha. 100 stops stand on it: "));
    EXPECT_THAT(text, HasSubstr("loam in 51 of 100 horizons"));  // six in twelve, and three of the last four
    EXPECT_THAT(text, HasSubstr("of them this chip)"));
    for (const char* word : {"dry", "fragments", "acid", "hole", "lants"})
        EXPECT_THAT(text, Not(HasSubstr(word))) << "not noted anywhere";
    EXPECT_THAT(text, HasSubstr("Commonest profile: B (100 of 100 profiles)."));
}

/// Probability that a stop of the two-unit survey lies on WES, as its verdict has it.
double on_west(const StopFit& fit) { return fit.fitted_unit == 0 ? fit.p_fitted : 1 - fit.p_fitted; }

// Every figure once more from the probabilities that the layer of stops shows.
TEST(UnitSummary, EachStopCountsByItsProbabilityOfLyingOnTheUnit) {
    Described d;
    d.invented.add_usual_stops();
    for (model::Stop& stop : d.invented.survey.stops) stop.plants = d.text(stop.position.x < 0 ? "heather" : "rush");
    // Eight stops whose soil is half and half, and two that are drawn on the wrong side: clay of EAS on WES.
    for (int i = 0; i < 8; ++i)
        d.invented.add_stop(-20.0 + 5 * i, 50.0 + 20 * i, i % 2 == 0 ? "5YR 4/4" : "5Y 5/2", "SCL");
    d.invented.add_stop(-1000, 100, "5Y 5/3", "C").plants = d.text("rush");
    d.invented.add_stop(-1000, 1300, "5Y 5/2", "C").plants = d.text("rush");
    d.describe(DescribedBy::posterior);
    const model::Reduced& reduced = *d.judged.reduced;
    double west = 0, clay_on_west = 0, grey_on_west = 0;
    std::size_t unsure = 0;
    for (std::size_t s = 0; s < d.judged.fit.stops.size(); ++s) {
        const double p = on_west(d.judged.fit.stops[s]);
        unsure += p > 0.02 && p < 0.98 ? 1 : 0;
        const double counted = p < 0.01 ? 0 : p;
        west += counted;
        const std::size_t h = d.invented.survey.stops[s].first_horizon;
        if (reduced.texture.values[static_cast<std::size_t>(reduced.texture.codes[h])].name == "C")
            clay_on_west += counted;
        if (reduced.colour_moist.values[static_cast<std::size_t>(reduced.colour_moist.codes[h])].notation == "5Y 5/2")
            grey_on_west += counted;
    }
    ASSERT_GE(unsure, 3U);
    const auto count_of = [](const Tally& tally, const char* name) {
        for (const Counted& value : tally.values)
            if (value.name == name) return value.count;
        return 0.0;
    };
    EXPECT_NEAR(d.units[0].described_stops, west, 1e-6);
    EXPECT_NEAR(count_of(d.units[0].texture.classes, "C"), clay_on_west, 1e-6);
    EXPECT_NEAR(count_of(d.units[0].moist.chips, "5Y 5/2"), grey_on_west, 1e-6);
    EXPECT_NEAR(d.units[0].moist.chips.total(), west, 1e-6);
    // The two conflicting stops belong to EAS, which as drawn had none of them.
    const double clay_east = count_of(d.units[1].texture.classes, "C");
    const auto by_probability = d.units;
    d.describe(DescribedBy::draft);
    EXPECT_GE(count_of(d.units[0].texture.classes, "C"), 2);
    EXPECT_LE(count_of(by_probability[0].texture.classes, "C"), 1);  // most of them
    EXPECT_GE(clay_east, count_of(d.units[1].texture.classes, "C") + 1);
    EXPECT_THAT(unit_description(d.invented.survey, by_probability[0]),
                HasSubstr("Described from about " + std::to_string(std::lround(west)) +
                          " stops, each counted by its probability of lying on it."));
    EXPECT_THAT(unit_description(d.invented.survey, d.units[0]), HasSubstr(" stops as drawn."));
}

// The survey's own numbers: the least value at which the probabilities of the stops up to it make half of all, by a
// sort of its own.
TEST(UnitSummary, TheSurveysOwnEvidenceIsTold) {
    Described d;
    d.invented.add_usual_stops();
    model::EvidenceValues values;
    values.definition = {"magnetic susceptibility", model::EvidenceKind::numeric, {"mag_sus"}, model::Scale::linear};
    for (std::size_t s = 0; s < d.invented.survey.stops.size(); ++s)
        values.numbers.push_back(d.invented.survey.stops[s].position.x < 0 ? 100.0 + static_cast<double>(s % 40)
                                                                           : 20.0);
    d.invented.survey.evidence.push_back(values);
    d.describe(DescribedBy::posterior);
    std::vector<std::pair<double, double>> order;
    double half = 0;
    for (std::size_t s = 0; s < values.numbers.size(); ++s) {
        const double p = on_west(d.judged.fit.stops[s]);
        order.emplace_back(*values.numbers[s], p < 0.01 ? 0 : p);
        half += order.back().second / 2;
    }
    std::sort(order.begin(), order.end());
    double sum = 0, median = 0;
    for (const auto& [value, p] : order)
        if (sum < half && (sum += p) >= half) median = value;
    ASSERT_EQ(d.units[0].evidence.size(), 1U);
    EXPECT_EQ(d.units[0].evidence[0].first, "magnetic susceptibility");
    EXPECT_THAT(d.units[0].evidence[0].second,
                testing::StartsWith("median " + std::to_string(std::lround(median)) + " (quartiles "));
    EXPECT_THAT(unit_description(d.invented.survey, d.units[0]),
                HasSubstr(" Besides: magnetic susceptibility median "));
}

// The median of depths, with weights, by the product-limit formula written out once more: least depth at which the
// share still deeper is below one half.
TEST(UnitSummary, DepthsAreWeightedByProbability) {
    Described d;
    d.invented.add_usual_stops();
    const double depths[] = {40, 55, 60, 75, 90, 95};
    for (int i = 0; i < 6; ++i) {
        d.add(-1500 + 100 * i, 30,
              {{"A", 0, 20, "5YR 4/4"},
               {"Bw", 20, depths[i], i % 3 == 2 ? "5Y 5/3" : "5YR 4/6"},
               {i == 3 ? "Bw2" : "R", depths[i], i == 3 ? depths[i] + 5 : 0}});
        if (i % 2 == 1) d.invented.survey.stops.back().unit_seen = model::no_unit;
    }
    d.describe(DescribedBy::posterior);
    const std::size_t first = d.judged.fit.stops.size() - 6;
    double at_risk = 0, deeper = 1, expected = 0, reached = 0;
    for (std::size_t i = 0; i < 6; ++i) at_risk += on_west(d.judged.fit.stops[first + i]);
    for (std::size_t i : {0, 1, 2, 3, 4, 5}) {  // in order of depth; the fourth hole ended above rock, at 80 cm
        const double p = on_west(d.judged.fit.stops[first + i]);
        if (i != 3) {
            deeper *= 1 - p / at_risk;
            reached += p;
            if (expected == 0 && deeper < 0.5) expected = depths[i];
        }
        at_risk -= p;
    }
    EXPECT_EQ(d.units[0].rock.median_cm, expected);
    EXPECT_NEAR(d.units[0].rock.reached, reached, 1e-6);
    EXPECT_NEAR(d.units[0].rock.deeper, on_west(d.judged.fit.stops[first + 3]), 1e-6);
}

// Rows of the correlation table: probabilities sum to 1, and at as many stops as are known some unit is the most
// probable.
TEST(UnitSummary, WhatIsTakenForWhatAddsUp) {
    Described d;
    d.invented.add_usual_stops();
    d.invented.add_stop(-1000, 100, "5Y 5/3", "C");
    d.describe(DescribedBy::posterior);
    for (const UnitSummary& unit : d.units) {
        ASSERT_EQ(unit.mistaken.probability.size(), 2U);
        EXPECT_NEAR(unit.mistaken.probability[0] + unit.mistaken.probability[1], 1, 1e-9);
        EXPECT_EQ(unit.mistaken.named[0] + unit.mistaken.named[1], unit.mistaken.known);
    }
    const auto pair = most_confused_pair(d.units);
    ASSERT_TRUE(pair);
    EXPECT_NEAR(pair->probability, (d.units[0].mistaken.probability[1] + d.units[1].mistaken.probability[0]) / 2,
                1e-12);
    EXPECT_EQ(pair->known, d.units[0].mistaken.known + d.units[1].mistaken.known);
    // The one neighbour, by the whole contact of 4 km; colour and texture tell the two apart, and each was right where
    // it was tried.
    ASSERT_EQ(d.units[0].neighbours.size(), 1U);
    EXPECT_NEAR(d.units[0].neighbours[0].length_m, 4000, 1e-6);
    ASSERT_EQ(d.units[0].neighbours[0].told_by.size(), 2U);
    const Difference& best = d.units[0].neighbours[0].told_by[0];
    EXPECT_EQ(best.channel, "moist subsoil colour");
    EXPECT_GE(best.right + 3, best.known);
    EXPECT_THAT(best.here, HasSubstr("5YR 4/"));
    EXPECT_THAT(best.there, HasSubstr("5Y 5/"));
    EXPECT_LT(d.units[0].neighbours[0].told_by[1].factor, best.factor);
}

// Both units' soils are the same here, so each stop is taken for whichever is commoner; what is told apart by nothing
// is not said to be told apart.
TEST(UnitSummary, ConfusesUnitsThatLookAlikeAndNotThoseThatDiffer) {
    Described alike;
    for (double x = -1900; x < 2000; x += 200)
        for (double y = -1900; y < 2000; y += 400) alike.invented.add_stop(x, y, "10YR 4/3", "L");
    alike.describe();
    std::size_t taken = 0;
    for (const UnitSummary& unit : alike.units) {
        taken += unit.mistaken.taken;
        EXPECT_LT(unit.mistaken.channel_factor, 1.2);
    }
    EXPECT_GE(taken, 60U);  // of 200 known stops, a hundred of either unit

    Described apart;
    apart.invented.add_usual_stops();
    apart.describe();
    for (const UnitSummary& unit : apart.units) {
        EXPECT_GE(unit.mistaken.known, 60U);
        EXPECT_LE(unit.mistaken.taken, 2U);
    }
}

}  // namespace
}  // namespace subcrop::infer
