#include "subcrop/infer/first_map.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "infer/invented_survey.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/infer/next_stops.hpp"

namespace subcrop::infer {
namespace {

using testing::HasSubstr;

/// The two units of InventedSurvey without their map; rock seen at every fourth stop.
struct WithoutDraft : InventedSurvey {
    explicit WithoutDraft(std::size_t every = 4) {
        survey.map.clear();
        add_usual_stops();
        for (std::size_t s = 0; s < survey.stops.size(); s += every)
            survey.stops[s].unit_seen = survey.stops[s].position.x < 0 ? 0 : 1;
    }
    struct Drawn {
        std::unique_ptr<model::Reduced> reduced;
        Fit fit;
        FirstMap first;
        std::unique_ptr<geo::UnitMap> map;
        Relocation contacts;
    };
    Drawn draw(unsigned threads = 1) {
        Drawn drawn;
        Progress silent;
        drawn.reduced = std::make_unique<model::Reduced>(model::reduce(survey, problems));
        const RockPrior prior = krige_rock(survey, threads);
        FitOptions options;
        options.prior = prior.at_stops;
        const geo::UnitMap none({}, survey.units.size(), {}, problems);
        drawn.fit = fit_stops(survey, *drawn.reduced, none, threads, problems, silent, options);
        drawn.first = draw_first_map(survey, drawn.fit, prior, threads);
        drawn.map =
            std::make_unique<geo::UnitMap>(drawn.first.polygons, survey.units.size(), geo::UnitMapOptions{}, problems);
        drawn.contacts = place_contacts(survey, drawn.first, *drawn.map, threads);
        return drawn;
    }
};

TEST(FirstMap, FindsTheContactBetweenTwoPlainSoils) {
    WithoutDraft invented;
    const auto drawn = invented.draw();
    ASSERT_EQ(drawn.first.polygons.size(), 2U);
    ASSERT_EQ(drawn.map->contacts().size(), 1U);
    // The truth is x = 0 and the stops nearest to it stand at 100 m to either side.
    double within = 0;
    const Line& line = drawn.map->contacts()[0].line;
    for (std::size_t k = 0; k < line.size(); ++k) {
        EXPECT_LT(std::abs(line[k].x), 150);
        within += std::abs(line[k].x) <= drawn.contacts.contacts[0].half_widths_m[k];
    }
    EXPECT_GT(within / static_cast<double>(line.size()), 0.9);
    EXPECT_GT(drawn.contacts.contacts[0].location_confidence_m, 20);
    EXPECT_LT(drawn.contacts.contacts[0].location_confidence_m, 400);
    EXPECT_EQ(drawn.contacts.contacts[0].identity, Confidence::certain);
    std::size_t fits = 0;
    for (std::size_t s = 0; s < drawn.fit.stops.size(); ++s) {
        EXPECT_EQ(drawn.fit.stops[s].mapped_unit, model::no_unit);
        EXPECT_EQ(drawn.fit.stops[s].fitted_unit, invented.survey.stops[s].position.x < 0 ? 0 : 1) << s;
        fits += drawn.fit.stops[s].verdict == Verdict::fits;
    }
    EXPECT_GT(fits, drawn.fit.stops.size() * 9 / 10);
}

TEST(FirstMap, SoilTellsWhereRockWasNotSeen) {
    WithoutDraft invented;
    for (model::Stop& stop : invented.survey.stops)
        if (stop.position.y > 0 && std::abs(stop.position.x) < 1200) stop.unit_seen = model::no_unit;
    const auto drawn = invented.draw();
    EXPECT_EQ(drawn.map->unit_at({-400, 1500}), 0);
    EXPECT_EQ(drawn.map->unit_at({400, 1500}), 1);
}

TEST(FirstMap, TooLittleRockIsToldWithWhatToDo) {
    WithoutDraft few(24);  // 9 stops of 200
    try {
        krige_rock(few.survey, 1);
        FAIL();
    } catch (const Error& error) {
        EXPECT_THAT(
            error.what(),
            HasSubstr("there is no draft map, and bedrock was observed at 9 stops; a first map needs at least 10"));
        EXPECT_THAT(error.what(), HasSubstr("Name a draft under 'map'"));
    }
    WithoutDraft one;
    for (model::Stop& stop : one.survey.stops)
        if (stop.unit_seen == 1) stop.unit_seen = model::no_unit;
    EXPECT_THROW(krige_rock(one.survey, 1), Error);
}

TEST(FirstMap, AStopsOwnRockIsNoPriorToItself) {
    WithoutDraft invented;
    model::Stop& odd = invented.add_stop(1000, 0, "5Y 5/3", "C");
    odd.unit_seen = 0;
    const RockPrior prior = krige_rock(invented.survey, 1);
    EXPECT_GT(prior.at_stops[2 * (invented.survey.stops.size() - 1) + 1], 0.8f);
}

TEST(FirstMap, NextStopsLieAlongTheContactAndEachGainsSomething) {
    WithoutDraft invented;
    const auto drawn = invented.draw();
    ASSERT_TRUE(drawn.first.shows_range);
    const auto suggest = [&](unsigned threads) {
        return suggest_first_map_stops(invented.survey, *drawn.map, drawn.first, {.count = 6}, threads);
    };
    const std::vector<NextStop> next = suggest(1);
    ASSERT_EQ(next.size(), 6U);
    for (std::size_t i = 0; i < next.size(); ++i) {
        EXPECT_LT(std::abs(next[i].place.x), 250);  // the truth is x = 0, and the ground runs to 2000 on either side
        EXPECT_FALSE(next[i].contact);
        EXPECT_EQ(std::minmax(next[i].unit_a, next[i].unit_b), std::minmax<model::UnitIndex>(0, 1));
        EXPECT_GT(next[i].gain_ha, 0.005);
        EXPECT_LT(next[i].gain_ha, 100);  // what a square of 1 km would be
        EXPECT_THAT(next[i].purpose, HasSubstr("See which of the two lies below"));
        for (std::size_t j = 0; j < i; ++j) EXPECT_GT(distance(next[i].place, next[j].place), drawn.first.grid.cell_m);
    }
    const std::vector<NextStop> three = suggest(3);
    for (std::size_t i = 0; i < next.size(); ++i) {
        EXPECT_EQ(next[i].place, three[i].place);
        EXPECT_EQ(next[i].gain_ha, three[i].gain_ha);
    }
    invented.survey.no_go = {{{{-3000, 0}, {3000, 0}, {3000, 3000}, {-3000, 3000}, {-3000, 0}}, {}}};
    for (const NextStop& stop : suggest(1)) EXPECT_LT(stop.place.y, 0);
}

TEST(FirstMap, WhereNearStopsAreNoMoreAlikeThanFarOnesItSaysSoAndSuggestsNothing) {
    InventedSurvey invented;
    invented.survey.map.clear();
    invented.add_usual_stops();
    for (std::size_t s = 0; s < invented.survey.stops.size(); ++s) {  // soil and rock dealt out without regard to place
        model::Stop& stop = invented.survey.stops[s];
        stop.position = {static_cast<double>(s * 7919 % 4000) - 2000, static_cast<double>(s * 104729 % 4000) - 2000};
        if (s % 4 == 0) stop.unit_seen = static_cast<model::UnitIndex>(s / 4 % 2);
    }
    Progress silent;
    const model::Reduced reduced = model::reduce(invented.survey, invented.problems);
    const RockPrior prior = krige_rock(invented.survey, 1);
    FitOptions options;
    options.prior = prior.at_stops;
    const geo::UnitMap none({}, invented.survey.units.size(), {}, invented.problems);
    const Fit fit = fit_stops(invented.survey, reduced, none, 1, invented.problems, silent, options);
    const FirstMap first = draw_first_map(invented.survey, fit, prior, 1);
    const geo::UnitMap map(first.polygons, invented.survey.units.size(), geo::UnitMapOptions{}, invented.problems);
    EXPECT_FALSE(prior.shows_range);
    EXPECT_FALSE(first.shows_range);
    EXPECT_TRUE(suggest_first_map_stops(invented.survey, map, first, {.count = 6}, 1).empty());
}

TEST(FirstMap, ARangeThatAHandfulOfRockDoesNotShowIsTakenFromTheSoil) {
    WithoutDraft invented(16);
    RockPrior prior = krige_rock(invented.survey, 1);
    prior.model = {0.5, 0, 100};
    prior.shows_range = false;
    Progress silent;
    const model::Reduced reduced = model::reduce(invented.survey, invented.problems);
    FitOptions options;
    options.prior = prior.at_stops;
    const geo::UnitMap none({}, invented.survey.units.size(), {}, invented.problems);
    const Fit fit = fit_stops(invented.survey, reduced, none, 1, invented.problems, silent, options);
    const FirstMap first = draw_first_map(invented.survey, fit, prior, 1);
    EXPECT_TRUE(first.shows_range);
    EXPECT_GT(first.model.range_m, 400);
    EXPECT_GT(first.model.sill, first.model.nugget);
}

TEST(FirstMap, ThreadsChangeNothing) {
    WithoutDraft invented;
    const auto one = invented.draw(1), three = invented.draw(3);
    EXPECT_EQ(one.first.probability, three.first.probability);
    ASSERT_EQ(one.contacts.contacts.size(), three.contacts.contacts.size());
    for (std::size_t i = 0; i < one.contacts.contacts.size(); ++i)
        EXPECT_EQ(one.contacts.contacts[i].half_widths_m, three.contacts.contacts[i].half_widths_m);
}

}  // namespace
}  // namespace subcrop::infer
