#include "subcrop/infer/next_stops.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "infer/invented_survey.hpp"
#include "infer/planning/walk.hpp"

namespace subcrop::infer {
namespace {

std::vector<NextStop> suggest(InventedSurvey& invented, std::size_t count, unsigned threads = 1) {
    const auto judged = invented.judge();
    const Relocation relocation = relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems);
    return suggest_next_stops(invented.survey, *judged.map, judged.fit, relocation, {.count = count}, threads);
}

/// The usual stops; the contact's south is known well by stops close to either side of it, its north is not. It lies 30
/// m to one side of the draft and to the other by turns, so that the error learnt is about that stated.
struct HalfKnown : InventedSurvey {
    HalfKnown() {
        add_usual_stops();
        for (double y = -1950; y < 0; y += 50) {
            const double off = (static_cast<int>(y + 1950) / 50) % 2 ? 30 : -30;
            add_stop(off - 20, y, "5YR 4/6", "L").unit_seen = 0;
            add_stop(off + 20, y, "5Y 5/3", "C").unit_seen = 1;
        }
    }
};

TEST(NextStops, LieWhereTheContactIsLeastKnown) {
    HalfKnown invented;
    const std::vector<NextStop> next = suggest(invented, 6);
    ASSERT_EQ(next.size(), 6U);
    for (std::size_t i = 0; i < next.size(); ++i) {
        ASSERT_TRUE(next[i].contact);
        EXPECT_NEAR(next[i].place.x, 0, 25);
        EXPECT_GT(next[i].place.y, 0);
        EXPECT_LT(next[i].half_width_after_m, next[i].half_width_m);
        EXPECT_THAT(next[i].purpose, testing::HasSubstr("Contact of WES with EAS, located to ± "));
        EXPECT_THAT(next[i].purpose,
                    testing::ContainsRegex(
                        "So far the notes named the right one of the two at [0-9]+ of [0-9]+ stops, best by "));
        if (i > 0) {
            EXPECT_LE(next[i].gain_ha, next[i - 1].gain_ha + 1e-9);
        }
        for (std::size_t j = 0; j < i; ++j) EXPECT_GT(distance(next[i].place, next[j].place), 50);
    }
    std::set<std::size_t> turns;
    for (const NextStop& stop : next) turns.insert(stop.walk);
    EXPECT_THAT(turns, testing::ElementsAre(1, 2, 3, 4, 5, 6));
    // Along a straight contact a short walk goes from one end to the other.
    std::vector<NextStop> walk = next;
    std::sort(walk.begin(), walk.end(), [](const NextStop& a, const NextStop& b) { return a.walk < b.walk; });
    EXPECT_TRUE(std::is_sorted(walk.begin(), walk.end(),
                               [](const NextStop& a, const NextStop& b) { return a.place.y < b.place.y; }) ||
                std::is_sorted(walk.begin(), walk.end(),
                               [](const NextStop& a, const NextStop& b) { return a.place.y > b.place.y; }));
}

// A hole with nothing noted narrows no contact, but another one beside it would find what it found.
TEST(NextStops, KeepAwayFromStopsAlreadyDug) {
    HalfKnown invented;
    const Point before = suggest(invented, 1)[0].place;
    model::Stop& dug = invented.add_stop(before.x + 4, before.y, "", "");
    dug.position_sd_m = 12;
    const std::vector<NextStop> next = suggest(invented, 6);
    ASSERT_FALSE(next.empty());
    for (const NextStop& stop : next)
        for (const model::Stop& other : invented.survey.stops)
            EXPECT_GE(distance(stop.place, other.position), 2 * std::hypot(10, other.position_sd_m)) << other.id;
}

// Above 200,000 stops, and where the settings ask for it, there is no answer for the map: the draft is blurred instead.
TEST(NextStops, AreSuggestedWithoutMovingContacts) {
    HalfKnown invented;
    const geo::UnitMap map(invented.survey.map, 2, {.contact_sd_m = invented.survey.contact_sd_m}, invented.problems);
    const model::Reduced reduced = model::reduce(invented.survey, invented.problems);
    Progress silent;
    const Fit fit = fit_stops(invented.survey, reduced, map, 1, invented.problems, silent, {.move_contacts = false});
    ASSERT_TRUE(fit.answer.empty());
    const Relocation relocation = relocate(invented.survey, map, fit, 1, invented.problems);
    const auto next = suggest_next_stops(invented.survey, map, fit, relocation, {.count = 4}, 1);
    ASSERT_EQ(next.size(), 4U);
    for (const NextStop& stop : next) EXPECT_LT(std::abs(stop.place.x), 60);
}

TEST(NextStops, LeaveAContactAloneThatIsProbablyNotThere) {
    HalfKnown invented;
    auto judged = invented.judge();
    const Relocation relocation = relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems);
    const auto in_disputed = [](const NextStop& stop) { return stop.place.y > 1000; };
    const auto before = suggest_next_stops(invented.survey, *judged.map, judged.fit, relocation, {.count = 4}, 1);
    ASSERT_TRUE(std::any_of(before.begin(), before.end(), in_disputed));
    StopCluster patch;
    patch.drafted = 0;
    patch.like = 1;
    patch.probability = 1;
    patch.radius_m = 500;
    for (std::uint32_t s = 0; s < invented.survey.stops.size(); ++s) {
        const Point place = invented.survey.stops[s].position;
        if (place.y > 1000) patch.stops.push_back(s);
    }
    judged.fit.clusters = {patch};
    const auto after = suggest_next_stops(invented.survey, *judged.map, judged.fit, relocation, {.count = 4}, 1);
    EXPECT_FALSE(after.empty());
    EXPECT_TRUE(std::none_of(after.begin(), after.end(), in_disputed));
    judged.fit.clusters.front().like = 2;  // like a unit that does not stand on the other side
    const auto other = suggest_next_stops(invented.survey, *judged.map, judged.fit, relocation, {.count = 4}, 1);
    EXPECT_TRUE(std::any_of(other.begin(), other.end(), in_disputed));
}

TEST(Relocation, AContactBesideDisputedGroundIsInDoubtAndRunsNowhereElse) {
    HalfKnown invented;
    auto judged = invented.judge();
    const Relocation before = relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems);
    ASSERT_EQ(before.contacts.size(), 1U);
    EXPECT_FALSE(before.contacts[0].disputed);
    StopCluster patch;
    patch.drafted = 1;
    patch.like = 0;  // in whichever order
    patch.probability = 0.9;
    patch.radius_m = 500;
    const auto reach = [&](double from_y) {
        patch.stops.clear();
        for (std::uint32_t s = 0; s < invented.survey.stops.size(); ++s)
            if (invented.survey.stops[s].position.y > from_y) patch.stops.push_back(s);
        ASSERT_FALSE(patch.stops.empty());
        judged.fit.clusters = {StopCluster{}, patch};
    };
    reach(0);
    const Relocation after = relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems);
    EXPECT_EQ(after.contacts[0].disputed, 1U);  // the second patch
    EXPECT_EQ(after.contacts[0].existence, Confidence::questionable);
    EXPECT_TRUE(after.contacts[0].stretches.empty());
    EXPECT_EQ(review_of(after, 0), Review::doubtful);
    EXPECT_EQ(moved_length(after, *judged.map).stretches, 0U);
    // Along less than half of it: the contact ends there, but is a contact.
    reach(1500);
    EXPECT_FALSE(relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems).contacts[0].disputed);
}

TEST(NextStops, KeepToTracksAndOutOfNoGoGround) {
    HalfKnown invented;
    invented.survey.tracks = {{{-500, 1000}, {500, 1000}}};
    invented.survey.track_reach_m = 150;
    for (const NextStop& stop : suggest(invented, 3)) EXPECT_NEAR(stop.place.y, 1000, 150);
    invented.survey.tracks.clear();
    invented.survey.no_go = {{{{-600, 1000}, {600, 1000}, {600, 2000}, {-600, 2000}, {-600, 1000}}, {}}};
    const auto next = suggest(invented, 5);
    EXPECT_EQ(next.size(), 5U);
    for (const NextStop& stop : next)
        EXPECT_FALSE(std::abs(stop.place.x) < 600 && stop.place.y > 1000) << stop.place.x << ' ' << stop.place.y;
}

TEST(NextStops, AskForGroundWithoutStopsAndForNothingWhereNoneIsWanted) {
    InventedSurvey invented;
    invented.add_usual_stops();
    std::erase_if(invented.survey.stops, [](const model::Stop& stop) { return stop.position.x > 800; });
    const auto next = suggest(invented, 60);
    const auto bare = std::find_if(next.begin(), next.end(), [](const NextStop& stop) { return !stop.contact; });
    ASSERT_NE(bare, next.end());
    EXPECT_GT(bare->place.x, 800);
    EXPECT_THAT(bare->purpose, testing::MatchesRegex("No stop within [0-9]+ m: see whether EAS lies here as drawn."));
    EXPECT_TRUE(suggest(invented, 0).empty());
}

TEST(NextStops, DependNeitherOnThreadsNorOnTheOrderOfRows) {
    HalfKnown forward, backward;
    std::reverse(backward.survey.stops.begin(), backward.survey.stops.end());
    const auto one = suggest(forward, 5, 1), three = suggest(forward, 5, 3), reversed = suggest(backward, 5, 1);
    for (std::size_t i = 0; i < 5; ++i) {
        EXPECT_EQ(one[i].place, three[i].place);
        EXPECT_EQ(one[i].gain_ha, three[i].gain_ha);
        EXPECT_NEAR(one[i].place.x, reversed[i].place.x, 1e-6);
        EXPECT_NEAR(one[i].place.y, reversed[i].place.y, 1e-6);
    }
}

// Against every order there is: seven places, so the shortest walk can be found by trying all.
TEST(ShortWalk, IsTheShortestOfAllOrders) {
    const std::vector<Point> places{{0, 0}, {900, 50}, {120, 700}, {480, 20}, {500, 610}, {860, 640}, {60, 380}};
    const auto length = [&](const std::vector<std::size_t>& order) {
        double sum = 0;
        for (std::size_t i = 1; i < order.size(); ++i) sum += distance(places[order[i - 1]], places[order[i]]);
        return sum;
    };
    std::vector<std::size_t> order{0, 1, 2, 3, 4, 5, 6};
    double least = 1e300;
    do least = std::min(least, length(order));
    while (std::next_permutation(order.begin(), order.end()));
    const auto walk = short_walk(places);
    EXPECT_NEAR(length(walk), least, 1e-9);
    EXPECT_TRUE(std::is_permutation(walk.begin(), walk.end(), order.begin()));
    EXPECT_TRUE(short_walk({}).empty());
}

}  // namespace
}  // namespace subcrop::infer
