#include "subcrop/infer/traverse.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <random>

#include "invented_survey.hpp"

namespace subcrop::infer {
namespace {

/// Draws that are the same on every machine.
struct Draw {
    std::mt19937_64 random;
    double share() { return static_cast<double>(random() >> 11U) * 0x1.0p-53; }
    double normal() {  // Box and Muller (1958)
        return std::sqrt(-2 * std::log(1 - share())) * std::cos(6.283185307179586 * share());
    }
};

/// A stop on a traverse with soil usual on WES or EAS; in some pits that of the other unit.
model::Stop& add_pit(InventedSurvey& ground, Draw& draw, const std::string& traverse, double x, double y, bool east,
                     double strange = 0.1) {
    static const std::array<const char*, 8> colours{"5YR 4/6", "5YR 4/4", "2.5YR 4/6", "7.5YR 4/4",
                                                    "5Y 5/3",  "5Y 5/2",  "2.5Y 5/3",  "5Y 4/3"};
    static const std::array<const char*, 8> textures{"L", "SL", "L", "SCL", "C", "SIC", "C", "CL"};
    const std::size_t side = (east != (draw.share() < strange)) ? 4 : 0;
    const std::size_t colour = side + draw.random() % 4, texture = side + draw.random() % 4;
    model::Stop& stop = ground.add_stop(x, y, colours[colour], textures[texture]);
    stop.traverse = ground.survey.texts->intern(traverse);
    return stop;
}

TEST(Traverse, IsFollowedOnceForItsCourseAndItsCrossings) {
    InventedSurvey ground;
    Draw draw{std::mt19937_64(3)};
    ground.add_usual_stops();
    for (const char* name : {"A", "B"}) {
        for (double x = -450; x < 500; x += 60) add_pit(ground, draw, name, x, name[0] == 'A' ? 300 : -500, x > 0);
    }
    const auto judged = ground.judge();
    const std::vector<TraverseCourse> followed = follow_traverses(ground.survey, *judged.map, judged.fit, 2);
    ASSERT_EQ(followed.size(), 2u);
    for (const TraverseCourse& course : followed) {
        ASSERT_FALSE(course.crossings.empty());
        for (const TraverseCrossing& c : course.crossings) {
            EXPECT_EQ(c.traverse, course.traverse.name);
            // The course knows the two sides of the crossing as the crossing does.
            const auto at = [&](double chainage_m, model::UnitIndex unit) {
                std::size_t i = 0;
                while (i + 1 < course.chainage_m.size() && course.chainage_m[i] < chainage_m) ++i;
                return course.probability[i * 2 + static_cast<std::size_t>(unit)];
            };
            EXPECT_GT(at(*c.low_m - 120, c.from_unit), 0.5);
            EXPECT_GT(at(*c.high_m + 120, c.to_unit), 0.5);
        }
    }
    const auto all = crossings_of(followed), alone = cross_traverses(ground.survey, *judged.map, judged.fit, 1);
    ASSERT_EQ(all.size(), alone.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
        EXPECT_EQ(all[i].traverse, alone[i].traverse);
        EXPECT_EQ(all[i].chainage_m, alone[i].chainage_m);
    }
}

TEST(Traverse, StopsStandBySequenceThenDateThenAlongTheLine) {
    InventedSurvey ground;
    const auto add = [&](const char* traverse, double x, double y) -> model::Stop& {
        model::Stop& stop = ground.add_stop(x, y, "5Y 5/3", "C");
        stop.traverse = ground.survey.texts->intern(traverse);
        return stop;
    };
    add("by seq", 100, 0).seq = 3;
    add("by seq", 200, 0).seq = 1.5;
    add("by seq", 0, 0).seq = 2;
    add("by date", 100, 0).date = ground.survey.texts->intern("2021-05-04");
    add("by date", 300, 0).date = ground.survey.texts->intern("2021-05-02");
    add("by date", 200, 0).date = ground.survey.texts->intern("2021-05-03");
    add("by place", 100, 150).date = ground.survey.texts->intern("2021-05-04");
    add("by place", -100, -170).date = ground.survey.texts->intern("2021-05-04");
    add("by place", 0, 10).seq = 1;  // one alone says nothing of the others
    add("alone", 0, 0);
    ground.add_stop(0, 0, "5Y 5/3", "C");
    const std::vector<Traverse> traverses = order_traverses(ground.survey);
    ASSERT_EQ(traverses.size(), 3u);
    EXPECT_EQ(traverses[0].name, "by date");
    EXPECT_EQ(traverses[0].stops, (std::vector<std::size_t>{4, 5, 3}));
    EXPECT_EQ(traverses[1].stops, (std::vector<std::size_t>{7, 8, 6}));
    EXPECT_EQ(traverses[2].stops, (std::vector<std::size_t>{1, 2, 0}));
}

TEST(Traverse, MappedCrossingsAreThoseOfTheLine) {
    InventedSurvey ground;
    ground.survey.units.resize(3);
    ground.survey.map.clear();
    ground.add_rectangle(0, -2000, 0);
    ground.add_rectangle(1, 0, 30);
    ground.add_rectangle(2, 30, 2000);
    const geo::UnitMap map(ground.survey.map, 3, {}, ground.problems);
    const Line there_and_back{{-300, 0}, {400, 0}, {400, 100}, {10, 100}};
    const std::vector<MappedCrossing> found = mapped_crossings(map, there_and_back, 0.5);
    ASSERT_EQ(found.size(), 3u);
    EXPECT_NEAR(found[0].chainage_m, 300, 0.01);
    EXPECT_EQ(found[0].from_unit, 0);
    EXPECT_EQ(found[0].to_unit, 1);
    EXPECT_NEAR(found[1].chainage_m, 330, 0.01);
    EXPECT_NEAR(found[2].chainage_m, 700 + 100 + 370, 0.01);
    EXPECT_EQ(found[2].from_unit, 2);
    EXPECT_EQ(found[2].to_unit, 1);
    EXPECT_TRUE(mapped_crossings(map, {{-2500, 0}, {-1000, 0}}, 0.5).empty());  // the map's edge is no contact
}

std::vector<TraverseCrossing> crossings_of(InventedSurvey& ground) {
    Progress silent;
    const model::Reduced reduced = model::reduce(ground.survey, ground.problems);
    const geo::UnitMap map(ground.survey.map, ground.survey.units.size(), {.contact_sd_m = ground.survey.contact_sd_m},
                           ground.problems);
    FitOptions options;
    options.move_contacts = false;  // a traverse is read against the draft as drawn
    const Fit fit = fit_stops(ground.survey, reduced, map, 2, ground.problems, silent, options);
    return cross_traverses(ground.survey, map, fit, 2);
}

TEST(Traverse, ARightContactIsConfirmedWithinItsInterval) {
    InventedSurvey ground;
    ground.add_usual_stops();
    Draw draw{std::mt19937_64(3)};
    for (int i = 0; i < 20; ++i) add_pit(ground, draw, "T", -190 + 20 * i, 50, -190 + 20 * i > 0, 0).seq = i;
    const auto crossings = crossings_of(ground);
    ASSERT_EQ(crossings.size(), 1u);
    const TraverseCrossing& crossing = crossings.front();
    EXPECT_EQ(crossing.status, CrossingStatus::confirmed);
    EXPECT_EQ(crossing.traverse, "T");
    EXPECT_EQ(crossing.from_unit, 0);
    EXPECT_EQ(crossing.to_unit, 1);
    EXPECT_GT(crossing.probability, 0.95);
    EXPECT_NEAR(*crossing.mapped_chainage_m, 190, 0.01);
    EXPECT_LT(*crossing.low_m, 190);
    EXPECT_GT(*crossing.high_m, 190);
    EXPECT_LT(*crossing.high_m - *crossing.low_m, 80);
    EXPECT_NEAR(crossing.place.x, *crossing.chainage_m - 190, 1e-6);
    EXPECT_NEAR(crossing.place.y, 50, 1e-6);
}

TEST(Traverse, ADisplacedDraftIsToldByTheRightMetres) {
    for (const double truth : {-110.0, 90.0}) {
        InventedSurvey ground;
        ground.add_usual_stops();
        Draw draw{std::mt19937_64(5)};
        for (int i = 0; i < 40; ++i) {
            const double x = -195 + 10 * i;
            model::Stop& stop = add_pit(ground, draw, "T", x, 50, x > truth, 0);
            stop.seq = i;
            if (i % 6 == 0) stop.unit_seen = x > truth ? 1 : 0;
        }
        const auto crossings = crossings_of(ground);
        ASSERT_EQ(crossings.size(), 1u);
        const TraverseCrossing& crossing = crossings.front();
        EXPECT_EQ(crossing.status, CrossingStatus::displaced);
        EXPECT_NEAR(*crossing.offset_m, truth, 15)
            << truth << " from " << *crossing.low_m - 195 << " to " << *crossing.high_m - 195;
        EXPECT_LT(*crossing.low_m, truth + 195);
        EXPECT_GT(*crossing.high_m, truth + 195);
    }
}

TEST(Traverse, AnUnmappedBodyAndAMissingContactAreTold) {
    InventedSurvey ground;
    ground.add_usual_stops();
    Draw draw{std::mt19937_64(8)};
    for (int i = 0; i < 20; ++i) {  // EAS soil and rock over 200 m of ground that the draft gives to WES
        const double x = -1190 + 40 * i;
        const bool east = x > -900 && x < -700;
        model::Stop& stop = add_pit(ground, draw, "body", x, 350, east);
        stop.seq = i;
        if (i % 2 == 0) stop.unit_seen = east ? 1 : 0;
    }
    for (int i = 0; i < 20; ++i) {  // one unit where the draft has two
        model::Stop& stop = add_pit(ground, draw, "one", -390 + 40 * i, -350, false);
        stop.seq = i;
        if (i % 2 == 0) stop.unit_seen = 0;
    }
    const auto crossings = crossings_of(ground);
    ASSERT_EQ(crossings.size(), 3u);
    EXPECT_EQ(crossings[0].status, CrossingStatus::unmapped);
    EXPECT_EQ(crossings[0].to_unit, 1);
    EXPECT_NEAR(crossings[0].place.x, -900, 30);
    EXPECT_EQ(crossings[1].status, CrossingStatus::unmapped);
    EXPECT_EQ(crossings[1].to_unit, 0);
    EXPECT_NEAR(crossings[1].place.x, -700, 30);
    EXPECT_FALSE(crossings[1].mapped_chainage_m || crossings[1].offset_m);
    EXPECT_EQ(crossings[2].status, CrossingStatus::not_found);
    EXPECT_FALSE(crossings[2].chainage_m || crossings[2].low_m || crossings[2].offset_m);
    EXPECT_NEAR(*crossings[2].mapped_chainage_m, 390, 0.01);
    EXPECT_NEAR(crossings[2].place.x, 0, 0.01);
    EXPECT_LT(crossings[2].probability, 0.1);
}

// Far on, where nothing was noted, the draft has the same contact again and again: what may lie there is no part of the
// first, which rock shows.
TEST(Traverse, TheIntervalHoldsOneCrossingAndNotOthersLikeIt) {
    InventedSurvey ground;
    ground.add_usual_stops();
    ground.survey.map.clear();
    ground.add_rectangle(0, -2000, 0);
    ground.add_rectangle(1, 0, 400);
    for (int k = 0; k < 4; ++k) {  // slivers of WES that the traverse passes unseen
        ground.add_rectangle(0, 400 + 200 * k, 410 + 200 * k);
        ground.add_rectangle(1, 410 + 200 * k, 600 + 200 * k);
    }
    ground.add_rectangle(1, 1200, 2000);
    for (int i = 0; i < 34; ++i) {
        const double x = -170 + 40 * i;
        model::Stop& stop = ground.add_stop(x, 50, i == 33 ? "5Y 5/3" : "", "");
        stop.traverse = ground.survey.texts->intern("T");
        stop.seq = i;
        if (i < 9) stop.unit_seen = static_cast<model::UnitIndex>(x < 0 ? 0 : 1);
    }
    const auto crossings = crossings_of(ground);
    ASSERT_GE(crossings.size(), 1U);
    EXPECT_EQ(crossings[0].from_unit, 0);
    EXPECT_EQ(crossings[0].to_unit, 1);
    EXPECT_EQ(crossings[0].status, CrossingStatus::confirmed);
    EXPECT_GT(*crossings[0].low_m, 145);  // the stops on either side stand at 160 and 200 m, their place known to 8 m
    EXPECT_LT(*crossings[0].high_m, 215);
}

TEST(Traverse, AStripBetweenTwoStopsIsNoMissingContact) {
    InventedSurvey ground;
    ground.add_usual_stops();
    ground.survey.units.emplace_back().code = "MID";
    ground.survey.map.clear();
    ground.add_rectangle(0, -2000, -8);
    ground.add_rectangle(2, -8, 8);  // narrower than the stops stand apart
    ground.add_rectangle(1, 8, 2000);
    Draw draw{std::mt19937_64(3)};
    for (int i = 0; i < 20; ++i) {
        const bool east = -190 + 20 * i > 0;
        model::Stop& stop = add_pit(ground, draw, "T", -190 + 20 * i, 50, east, 0);
        stop.seq = i;
        if (i % 3 == 0) stop.unit_seen = east ? 1 : 0;
    }
    const auto crossings = crossings_of(ground);
    ASSERT_EQ(crossings.size(), 1U);
    EXPECT_EQ(crossings[0].status, CrossingStatus::confirmed);
    EXPECT_EQ(crossings[0].from_unit, 0);
    EXPECT_EQ(crossings[0].to_unit, 1);
    EXPECT_NEAR(*crossings[0].mapped_chainage_m, 190, 0.01);
}

TEST(Traverse, ADraftedCrossingJustBeyondTheFirstStopThatSpeaksIsDisplaced) {
    InventedSurvey ground;
    ground.add_usual_stops();
    Draw draw{std::mt19937_64(5)};
    for (int i = 0; i < 2; ++i) {  // nothing was noted at the first two, between which the draft has its contact
        model::Stop& stop = ground.add_stop(-15 + 20 * i, 50, "", "");
        stop.traverse = ground.survey.texts->intern("T");
        stop.seq = i;
    }
    for (int i = 2; i < 22; ++i) {
        const double x = -15 + 20 * i;
        model::Stop& stop = add_pit(ground, draw, "T", x, 50, x > 110, 0);
        stop.seq = i;
        if (i % 3 == 2) stop.unit_seen = x > 110 ? 1 : 0;
    }
    const auto crossings = crossings_of(ground);
    ASSERT_EQ(crossings.size(), 1U);
    EXPECT_EQ(crossings[0].status, CrossingStatus::displaced);
    EXPECT_NEAR(*crossings[0].mapped_chainage_m, 15, 0.01);
    EXPECT_NEAR(*crossings[0].offset_m, 110, 20);
}

TEST(Traverse, NoEvidenceNoCrossing) {
    InventedSurvey ground;
    ground.add_usual_stops();
    for (int i = 0; i < 10; ++i) {
        model::Stop& stop = ground.add_stop(-190 + 40 * i, 50, "", "");
        stop.traverse = ground.survey.texts->intern("T");
    }
    EXPECT_TRUE(crossings_of(ground).empty());
}

TEST(Traverse, IntervalsHoldTheTruthNineTimesInTen) {
    InventedSurvey ground;
    ground.add_usual_stops();
    Draw draw{std::mt19937_64(21)};
    constexpr int traverses = 200;
    std::vector<double> truths;
    for (int t = 0; t < traverses; ++t) {
        const double y = -1990 + 20 * t, truth = 25 * draw.normal();
        truths.push_back(truth);
        double x = -200 - 40 * draw.share();
        for (int i = 0; i < 16; ++i, x += 10 + 40 * draw.share()) {
            model::Stop& stop = add_pit(ground, draw, "T" + std::to_string(1000 + t), x, y, x > truth);
            stop.seq = i;
            stop.position.x += 8 * draw.normal();  // as the receiver has it
        }
    }
    const auto found = crossings_of(ground);
    int crossed = 0, held = 0;
    double width = 0;
    for (const TraverseCrossing& crossing : found) {
        if (crossing.from_unit != 0 || !crossing.mapped_chainage_m || !crossing.chainage_m) continue;
        const double truth = truths[static_cast<std::size_t>(std::stoi(crossing.traverse.substr(1)) - 1000)];
        const double truth_m = *crossing.mapped_chainage_m + truth;  // the draft has the contact at x = 0
        ++crossed;
        held += truth_m >= *crossing.low_m && truth_m <= *crossing.high_m;
        width += *crossing.high_m - *crossing.low_m;
    }
    RecordProperty("held", held);
    RecordProperty("mean_width_m", std::to_string(width / crossed));
    EXPECT_GE(crossed, 195);
    EXPECT_GE(held, crossed * 85 / 100);
    EXPECT_LE(held, crossed * 97 / 100);
    EXPECT_LT(width / crossed, 85);  // the draft alone says 82 m plus the position error; with the soil it must be less
}

}  // namespace
}  // namespace subcrop::infer
