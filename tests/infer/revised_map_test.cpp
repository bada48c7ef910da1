#include "subcrop/infer/revised_map.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "infer/invented_survey.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {
namespace {

struct Drawn {
    InventedSurvey::Judged judged;
    Relocation relocation;
    RevisedMap revised;

    explicit Drawn(InventedSurvey& invented, unsigned threads = 1)
        : judged(invented.judge(threads)),
          relocation(relocate(invented.survey, *judged.map, judged.fit, threads, invented.problems)),
          revised(revise_map(invented.survey, *judged.map, judged.fit, relocation, threads)) {}

    geo::UnitMap map() const {
        ProblemLog faults;
        geo::UnitMap result(polygons_of(revised, *judged.map), 2, {}, faults);
        EXPECT_EQ(faults.size(), 0u);
        return result;
    }
};

/// Bedrock observed at every fourth stop, as the draft has it.
void observe_bedrock(InventedSurvey& invented) {
    for (std::size_t s = 0; s < invented.survey.stops.size(); s += 4)
        invented.survey.stops[s].unit_seen = invented.survey.stops[s].position.x < 0 ? 0 : 1;
}

/// Stops 80 m apart about a place in the east, like the west, bedrock observed at every second.
void add_body(InventedSurvey& invented, Point middle) {
    for (int i = 0; i < 9; ++i) {
        model::Stop& stop =
            invented.add_stop(middle.x - 80 + 80 * (i % 3), middle.y - 80 + 80 * (i / 3), "5YR 4/6", "L");
        if (i % 2 == 0) stop.unit_seen = 0;
    }
}

TEST(RevisedMap, ARightDraftStandsToTheLastVertex) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    const Drawn drawn(invented);
    const auto draft = drawn.judged.map->polygons();
    ASSERT_EQ(drawn.revised.units.size(), draft.size());
    for (std::size_t i = 0; i < draft.size(); ++i) {
        EXPECT_EQ(polygon_of(drawn.revised.units[i], *drawn.judged.map).shell, draft[i].polygon.shell);
        EXPECT_TRUE(drawn.revised.units[i].redrawn.shell.empty());  // the map is not held twice
        EXPECT_EQ(drawn.revised.units[i].row, draft[i].row);
        EXPECT_EQ(drawn.revised.units[i].source, RevisedSource::as_drawn);
        EXPECT_EQ(drawn.revised.units[i].changed_m2, 0);
        EXPECT_GT(drawn.revised.units[i].probability, 0.9);
        EXPECT_LE(drawn.revised.units[i].probability, 1);
    }
    EXPECT_EQ(drawn.revised.changed_m2, 0);
}

TEST(RevisedMap, ABodyOfAnotherUnitIsDrawnIn) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    add_body(invented, {1000, 600});
    const Drawn drawn(invented);
    ASSERT_EQ(drawn.revised.units.size(), 3u);
    const RevisedUnit& body = drawn.revised.units.back();
    EXPECT_EQ(body.source, RevisedSource::new_area);
    EXPECT_EQ(body.row, 0);
    EXPECT_EQ(body.unit, 0);
    EXPECT_GT(body.probability, 0.5);
    EXPECT_GT(body.area_m2, 4 * 80 * 80);
    EXPECT_LT(body.area_m2, 9 * 80 * 80 * 2.5);
    EXPECT_NEAR(body.changed_m2, body.area_m2, 1e-6 * body.area_m2);
    EXPECT_EQ(drawn.revised.units[0].source, RevisedSource::as_drawn);
    EXPECT_EQ(drawn.revised.units[1].source, RevisedSource::area_redrawn);
    EXPECT_EQ(drawn.revised.units[1].redrawn.holes.size(), 1u);
    EXPECT_EQ(drawn.map().unit_at({1000, 600}), 0);
    EXPECT_EQ(drawn.map().unit_at({1400, 600}), 1);
}

TEST(RevisedMap, TheOutlineOfABodyIsAContactWithAZoneOfItsOwn) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    const Drawn right(invented);
    EXPECT_TRUE(right.revised.contacts.empty());
    add_body(invented, {1000, 600});
    const Drawn drawn(invented);
    ASSERT_FALSE(drawn.revised.contacts.empty());
    double length = 0, drawn_length = 0;
    for (const RedrawnContact& contact : drawn.revised.contacts) {
        EXPECT_EQ(contact.unit_a, 0);
        EXPECT_EQ(contact.unit_b, 1);
        // No narrower than half of what is known of a drawn contact, no wider than its stops lie apart.
        EXPECT_GT(contact.half_width_m, drawn.judged.fit.contact_sd_m / 2);
        EXPECT_LE(contact.half_width_m, std::max(drawn.judged.fit.answer.stop_distance_m(),
                                                 2 * half_width_in_sd * drawn.judged.fit.contact_sd_m) +
                                            1e-9);
        for (std::size_t k = 1; k < contact.line.size(); ++k) length += distance(contact.line[k - 1], contact.line[k]);
    }
    // All of the hole's ring, which lies far from the drawn contact.
    const Ring& hole = drawn.revised.units[1].redrawn.holes.at(0);
    for (std::size_t k = 1; k < hole.size(); ++k) drawn_length += distance(hole[k - 1], hole[k]);
    EXPECT_NEAR(length, drawn_length, 1e-6 * drawn_length);
}

TEST(RevisedMap, ABodyAtTheContactGrowsFromItsOwnUnit) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    add_body(invented, {90, 600});
    const Drawn drawn(invented);
    ASSERT_EQ(drawn.revised.units.size(), 2u);
    EXPECT_NE(drawn.revised.units[0].source, RevisedSource::as_drawn);
    EXPECT_GT(drawn.revised.units[0].changed_m2, 80 * 80);
    EXPECT_EQ(drawn.map().unit_at({90, 600}), 0);
    double area = 0;
    for (const RevisedUnit& unit : drawn.revised.units) area += unit.area_m2;
    EXPECT_DOUBLE_EQ(area, drawn.revised.area_m2);
}

TEST(RevisedMap, ASureStopLiesOnItsUnit) {
    InventedSurvey invented;
    invented.add_usual_stops();
    observe_bedrock(invented);
    invented.add_stop(1200, -500, "5YR 4/6", "L").unit_seen = 0;  // bedrock of the west, alone in the east
    const Drawn drawn(invented);
    const geo::UnitMap map = drawn.map();
    std::size_t sure = 0;
    for (std::size_t s = 0; s < invented.survey.stops.size(); ++s) {
        const StopFit& stop = drawn.judged.fit.stops[s];
        const model::Stop& at = invented.survey.stops[s];
        if (stop.p_fitted <= 0.9) continue;
        ++sure;
        if (map.unit_at(at.position) == stop.fitted_unit) continue;
        const auto nearest = map.nearest_contact(at.position, at.position_sd_m);
        EXPECT_TRUE(nearest.has_value()) << at.id;
    }
    EXPECT_GT(sure, 50u);
    const StopFit& last = drawn.judged.fit.stops.back();
    if (last.p_fitted > 0.9) {
        EXPECT_EQ(map.unit_at({1200, -500}), last.fitted_unit);
    }
}

TEST(RevisedMap, ThreadsChangeNothing) {
    InventedSurvey invented, same;
    for (InventedSurvey* one : {&invented, &same}) {
        one->add_usual_stops();
        observe_bedrock(*one);
        add_body(*one, {1000, 600});
    }
    const Drawn one(invented, 1), three(same, 3);
    ASSERT_EQ(one.revised.units.size(), three.revised.units.size());
    for (std::size_t i = 0; i < one.revised.units.size(); ++i) {
        EXPECT_EQ(one.revised.units[i].redrawn.shell, three.revised.units[i].redrawn.shell);
        EXPECT_EQ(one.revised.units[i].probability, three.revised.units[i].probability);
    }
}

}  // namespace
}  // namespace subcrop::infer
