#include "subcrop/infer/proposals.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "infer/invented_survey.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {
namespace {

struct Proposed {
    InventedSurvey::Judged judged;
    Relocation relocation;
    RevisedMap revised;
    Proposals proposals;

    explicit Proposed(InventedSurvey& invented, unsigned threads = 1)
        : judged(invented.judge(threads)),
          relocation(relocate(invented.survey, *judged.map, judged.fit, threads, invented.problems)),
          revised(revise_map(invented.survey, *judged.map, judged.fit, relocation, threads)),
          proposals(propose(invented.survey, *judged.map, judged.fit, relocation, revised, threads)) {}

    std::size_t of(ProposalKind kind) const {
        return static_cast<std::size_t>(std::count_if(proposals.list.begin(), proposals.list.end(),
                                                      [&](const Proposal& one) { return one.kind == kind; }));
    }
    double area_m2() const {
        double sum = 0;
        for (const Proposal& one : proposals.list) sum += one.area_m2;
        return sum;
    }
};

/// Bedrock observed at every fourth stop, as the draft has it.
void observe_bedrock(InventedSurvey& invented) {
    for (std::size_t s = 0; s < invented.survey.stops.size(); s += 4)
        invented.survey.stops[s].unit_seen = invented.survey.stops[s].position.x < 0 ? 0 : 1;
}

TEST(Proposals, ARightDraftHasNone) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    const Proposed proposed(invented);
    EXPECT_TRUE(proposed.proposals.list.empty());
    EXPECT_GT(proposed.proposals.reach_m, 0);
}

TEST(Proposals, ABodyOfAnotherUnitIsOneAreaWithTheStopsItRestsOn) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    const std::size_t usual = invented.survey.stops.size();
    for (int i = 0; i < 9; ++i) {
        model::Stop& stop = invented.add_stop(920 + 80 * (i % 3), 520 + 80 * (i / 3), "5YR 4/6", "L");
        if (i % 2 == 0) stop.unit_seen = 0;
    }
    const Proposed proposed(invented);
    ASSERT_EQ(proposed.of(ProposalKind::redraw_area), 1U);
    const Proposal& body = proposed.proposals.list.front();
    EXPECT_EQ(body.from, 1);
    EXPECT_EQ(body.to, 0);
    EXPECT_GT(*body.probability, 0.5);
    EXPECT_NEAR(body.area_m2, proposed.revised.changed_m2, 1);
    // gain = integral of P(to) - P(from); with two units that is (2 P - 1) times the area
    EXPECT_NEAR(body.gain_m2, (2 * *body.probability - 1) * body.area_m2, 0.02 * body.area_m2);
    EXPECT_EQ(body.nearest_stop_m, 0);
    for (std::uint32_t s = static_cast<std::uint32_t>(usual); s < usual + 9; ++s)
        EXPECT_NE(std::find(body.stops.begin(), body.stops.end(), s), body.stops.end()) << s;
    EXPECT_EQ(body.stops, stops_that_bear(invented.survey, body.ground, proposed.proposals.reach_m));
    // Carried out, the draft is the revised map.
    const std::vector<std::uint8_t> all(proposed.proposals.changes.areas().size(), 1);
    double changed = 0;
    for (const auto& one : proposed.proposals.changes.carried_out(proposed.judged.map->polygons(), all))
        changed += one.changed_m2;
    EXPECT_NEAR(changed, proposed.revised.changed_m2, 1);
}

TEST(Proposals, AContactThatMovesIsOneWithItsContact) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    // On ten traverses the west's soil goes on to x = 90.
    for (int t = 0; t < 10; ++t) {
        const double y = -1800 + 400 * t;
        for (double x = -100; x <= 240; x += 20) {
            const bool west = x < 90;
            model::Stop& stop = invented.add_stop(x, y, west ? "5YR 4/6" : "5Y 5/2", west ? "L" : "C");
            if (static_cast<int>(x) % 40 == 0) stop.unit_seen = west ? 0 : 1;
        }
    }
    const Proposed proposed(invented);
    ASSERT_TRUE(proposed.relocation.moved);
    ASSERT_GE(proposed.of(ProposalKind::move_contact), 1U);
    const Proposal& move = proposed.proposals.list.front();
    EXPECT_EQ(move.kind, ProposalKind::move_contact);
    EXPECT_EQ(move.contact, 0U);
    EXPECT_EQ(move.from, 0);
    EXPECT_EQ(move.to, 1);
    EXPECT_NEAR(move.area_m2, 90 * 4000, 0.3 * 90 * 4000);
    EXPECT_NEAR(proposed.area_m2(), proposed.revised.changed_m2, 0.01 * proposed.revised.changed_m2);
    const Proposed again(invented, 3);
    ASSERT_EQ(again.proposals.list.size(), proposed.proposals.list.size());
    EXPECT_EQ(again.proposals.list.front().area_m2, move.area_m2);
    EXPECT_EQ(again.proposals.list.front().probability, move.probability);
}

TEST(Proposals, BedrockThatNothingAboutItSharesIsLookedAtAgain) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    for (int i = 0; i < 6; ++i) invented.add_stop(900 + 10 * i, 700, "5Y 5/2", "C").unit_seen = 1;
    model::Stop& block = invented.add_stop(925, 702, "5Y 5/2", "C");
    block.unit_seen = 0;
    invented.survey.settings.seen_rock_certainty = 0.6;
    const Proposed proposed(invented);
    ASSERT_EQ(proposed.of(ProposalKind::second_look), 1U);
    const Proposal& look = proposed.proposals.list.back();
    EXPECT_EQ(look.stop, invented.survey.stops.size() - 1);
    EXPECT_EQ(look.to, 0);
    EXPECT_GT(*look.probability, 0.5);
    EXPECT_EQ(look.gain_m2, 0);
}

TEST(PlacesIn, AreALatticeInsideThePolygonAndOutOfItsHoles) {
    const Polygon ring{{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}, {{{4, 4}, {6, 4}, {6, 6}, {4, 6}, {4, 4}}}};
    const auto places = places_in(ring, 1);
    EXPECT_EQ(places.size(), 96U);
    for (const Point p : places) EXPECT_TRUE(inside(ring, p));
    EXPECT_TRUE(places_in({{{0, 0}, {0.1, 0}, {0.1, 0.1}, {0, 0.1}, {0, 0}}, {}}, 1).empty());
}

}  // namespace
}  // namespace subcrop::infer
