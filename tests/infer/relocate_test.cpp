#include "subcrop/infer/relocate.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "infer/answer/moved_draft.hpp"
#include "infer/invented_survey.hpp"
#include "infer/two_units.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {
namespace {

constexpr double true_x = 60;  // where the contact runs that is drafted at x = 0

/// The straight contact drafted 60 m too far west, a soil survey over it, and rock seen at 240 stops beside it: the
/// error learnt is twice the stated one, so that it takes many to place the contact.
void draft_wrongly(InventedSurvey& invented, double truth) {
    invented.add_usual_stops();
    const char* const west[] = {"5YR 4/6", "5YR 4/4", "2.5YR 4/6", "7.5YR 4/4"};
    const char* const east[] = {"5Y 5/3", "5Y 5/2", "2.5Y 5/3", "5Y 4/3"};
    for (int i = 0; i < 240; ++i) {
        const double off = 15 + 10 * (i % 4), x = i % 2 ? truth + off : truth - off;
        const bool is_west = x < truth;
        model::Stop& stop =
            invented.add_stop(x, -1950 + 16 * i, is_west ? west[i % 4] : east[i % 4], is_west ? "L" : "C");
        stop.unit_seen = is_west ? 0 : 1;
    }
}

double area_of(const std::vector<model::MapPolygon>& polygons) {
    double area = 0;
    for (const model::MapPolygon& polygon : polygons) area += geo::area_m2(polygon.polygon);
    return area;
}

/// The same with a longer mantissa: a sum over many corners would round by more than two equal numbers may differ.
double exact_area_of(const std::vector<model::MapPolygon>& polygons) {
    long double twice = 0;
    for (const model::MapPolygon& polygon : polygons) {
        const Ring& ring = polygon.polygon.shell;
        long double of_ring = 0;
        for (std::size_t i = 1; i < ring.size(); ++i)
            of_ring += static_cast<long double>(ring[i - 1].x) * static_cast<long double>(ring[i].y) -
                       static_cast<long double>(ring[i].x) * static_cast<long double>(ring[i - 1].y);
        twice += std::abs(of_ring);
    }
    return static_cast<double>(twice / 2);
}

/// Each edge of the polygons, whichever way it runs, with how often it is used.
std::map<std::pair<std::pair<double, double>, std::pair<double, double>>, int> edges_of(
    const std::vector<model::MapPolygon>& polygons) {
    std::map<std::pair<std::pair<double, double>, std::pair<double, double>>, int> edges;
    for (const model::MapPolygon& polygon : polygons) {
        const Ring& ring = polygon.polygon.shell;
        for (std::size_t i = 1; i < ring.size(); ++i) {
            std::pair a{ring[i - 1].x, ring[i - 1].y}, b{ring[i].x, ring[i].y};
            ++edges[std::minmax(a, b)];
        }
    }
    return edges;
}

struct Moved {
    InventedSurvey invented;
    InventedSurvey::Judged judged;
    Relocation relocation;

    /// The contact truly runs at `truth`; 0: the draft is right and no rock was seen.
    explicit Moved(double truth, unsigned threads = 1) {
        if (truth == 0)
            invented.add_usual_stops();
        else
            draft_wrongly(invented, truth);
        judged = invented.judge(threads);
        relocation = relocate(invented.survey, *judged.map, judged.fit, threads, invented.problems);
    }
};

TEST(Relocate, AContactDraftedWronglyGoesWhereTheRockSaysAndItsZoneHoldsTheTruth) {
    const Moved moved(true_x);
    ASSERT_TRUE(moved.relocation.moved);
    ASSERT_EQ(moved.relocation.contacts.size(), 1u);
    const RelocatedContact& contact = moved.relocation.contacts[0];
    ASSERT_EQ(contact.half_widths_m.size(), contact.line.size());
    EXPECT_GT(contact.line.size(), 20u);
    for (std::size_t i = 0; i < contact.line.size(); ++i) {
        // At its very ends there are stops to one side along it only.
        const bool at_end = std::abs(contact.line[i].y) > 1800;
        EXPECT_NEAR(contact.line[i].x, true_x, at_end ? 30 : 20) << contact.line[i].y;
        if (!at_end) {
            EXPECT_GT(contact.half_widths_m[i], std::abs(contact.line[i].x - true_x));
        }
    }
    // The zone as it is drawn: the truth lies in it, the draft does not.
    ProblemLog ignored;
    std::vector<model::MapPolygon> zone;
    for (Polygon& part : geo::zone_about(contact.line, contact.half_widths_m)) zone.push_back({0, 1, std::move(part)});
    const geo::UnitMap drawn(zone, 1, {}, ignored);
    for (double y = -1800; y <= 1800; y += 100) {
        EXPECT_EQ(drawn.unit_at({true_x, y}), 0) << y;
        EXPECT_EQ(drawn.unit_at({0, y}), model::no_unit) << y;
    }
    EXPECT_LT(contact.location_confidence_m, half_width_in_sd * 25);
    EXPECT_GE(contact.location_confidence_m, half_width_in_sd * moved.judged.fit.shift.field.residual_m());
    EXPECT_EQ(contact.existence, Confidence::certain);
    EXPECT_EQ(contact.identity, Confidence::certain);
    EXPECT_EQ(contact.location, LocationClass::accurate);  // rock of both units seen beside it
}

TEST(Relocate, TheShiftIsMeasuredAlongTheNormal) {
    const Moved moved(true_x);
    ASSERT_EQ(moved.relocation.shifts.size(), 1u);
    const ContactShift& shift = moved.relocation.shifts[0];
    EXPECT_NEAR(shift.shift_m, true_x, 15);  // into the ground of EAS, unit_b
    EXPECT_NEAR(shift.azimuth_deg.value(), 90, 5);
    EXPECT_GT(shift.shift_sd_m, 0);
    EXPECT_LT(shift.shift_sd_m, 25);
    EXPECT_GT(shift.p_moved, 0.9);
    EXPECT_EQ(review_of(moved.relocation, 0), Review::shift);

    const Moved other_way(-true_x);
    ASSERT_TRUE(other_way.relocation.moved);
    // 60 m is 2.4 stated errors: few stops do not quite outweigh what was stated.
    EXPECT_NEAR(other_way.relocation.shifts[0].shift_m, -true_x, 20);
    EXPECT_NEAR(other_way.relocation.shifts[0].azimuth_deg.value(), 270, 5);
}

TEST(Relocate, SharedEdgesStaySharedAndNoGroundIsLost) {
    const Moved moved(true_x);
    ASSERT_EQ(moved.relocation.units.size(), 2u);
    for (const model::MapPolygon& polygon : moved.relocation.units) EXPECT_TRUE(geo::is_valid(polygon.polygon));
    const Line& line = moved.relocation.contacts[0].line;
    const auto edges = edges_of(moved.relocation.units);
    std::size_t shared = 0;
    for (const auto& [edge, uses] : edges) shared += uses == 2;
    EXPECT_EQ(shared, line.size() - 1);
    for (std::size_t i = 1; i < line.size(); ++i) {
        std::pair a{line[i - 1].x, line[i - 1].y}, b{line[i].x, line[i].y};
        const auto found = edges.find(std::minmax(a, b));
        ASSERT_NE(found, edges.end()) << i;  // bit for bit the same
        EXPECT_EQ(found->second, 2);
    }
    EXPECT_NEAR(area_of(moved.relocation.units) / area_of(moved.judged.map->polygons()), 1, 0.001);
    // ground went from one unit to the other, 60 m by 4 km of it
    const double gained =
        geo::area_m2(moved.relocation.units[0].polygon) - geo::area_m2(moved.judged.map->polygons()[0].polygon);
    EXPECT_NEAR(gained, true_x * 4000, 20 * 4000);
}

TEST(Relocate, TheEdgeOfTheSheetStays) {
    const Moved moved(true_x);
    Box before, after;
    for (const model::MapPolygon& polygon : moved.judged.map->polygons())
        for (const Point p : polygon.polygon.shell) before.add(p);
    for (const model::MapPolygon& polygon : moved.relocation.units)
        for (const Point p : polygon.polygon.shell) after.add(p);
    EXPECT_EQ(after.min_x, before.min_x);
    EXPECT_EQ(after.max_x, before.max_x);
    EXPECT_EQ(after.min_y, before.min_y);
    EXPECT_EQ(after.max_y, before.max_y);
    EXPECT_DOUBLE_EQ(exact_area_of(moved.relocation.units), exact_area_of(moved.judged.map->polygons()));
}

TEST(Relocate, ThreadsChangeNothing) {
    const Moved one(true_x, 1), three(true_x, 3);
    EXPECT_EQ(one.relocation.contacts[0].line, three.relocation.contacts[0].line);
    EXPECT_EQ(one.relocation.contacts[0].half_widths_m, three.relocation.contacts[0].half_widths_m);
}

TEST(Relocate, AStillFieldChangesNothing) {
    const Moved moved(0);
    ASSERT_TRUE(moved.judged.fit.shift.field.still());
    EXPECT_FALSE(moved.relocation.moved);
    EXPECT_TRUE(moved.relocation.shifts.empty());
    EXPECT_TRUE(moved.relocation.units.empty());
    ASSERT_EQ(moved.relocation.contacts.size(), 1u);
    EXPECT_EQ(relocated_line(moved.relocation, *moved.judged.map, 0), moved.judged.map->contacts()[0].line);
    EXPECT_NEAR(moved.judged.fit.contact_sd_m, 25, 1.5);  // soil alone tells little of it
    EXPECT_NEAR(moved.relocation.contacts[0].location_confidence_m, 1.645 * moved.judged.fit.contact_sd_m, 0.01);
    EXPECT_EQ(moved.relocation.contacts[0].location, LocationClass::inferred);  // no rock was seen
    EXPECT_EQ(review_of(moved.relocation, 0), review_of(moved.judged.fit.contacts[0]));
}

/// A Fit over one contact whose stops are as told, to try the rules one by one; nothing is moved.
struct Told {
    InventedSurvey invented;
    InventedSurvey::Judged judged;
    Told() {
        for (int i = 0; i < 6; ++i) {
            invented.add_stop(-40, 100 * i, "5YR 4/6", "L");
            invented.add_stop(40, 100 * i, "5Y 5/3", "C");
        }
        judged = invented.judge();
        for (std::size_t s = 0; s < 12; ++s) judge(s, s % 2 ? 1 : 0, 0.95);
    }
    void judge(std::size_t stop, model::UnitIndex unit, double p) {
        judged.fit.stops[stop].fitted_unit = unit;
        judged.fit.stops[stop].p_fitted = p;
        judged.fit.stops[stop].verdict = Verdict::agrees;
        judged.fit.stops[stop].p_transported = 0;
    }
    RelocatedContact classed() {
        return relocate(invented.survey, *judged.map, judged.fit, 1, invented.problems).contacts.at(0);
    }
};

TEST(Relocate, IdentityIsCertainWhereBothSidesAreSupported) {
    Told told;
    ASSERT_TRUE(told.judged.fit.shift.field.still());
    EXPECT_EQ(told.classed().identity, Confidence::certain);
    EXPECT_EQ(told.classed().existence, Confidence::certain);
    for (std::size_t s = 1; s < 12; s += 2) told.judge(s, 1, 0.5);  // the east is no longer sure of anything
    EXPECT_EQ(told.classed().identity, Confidence::questionable);
    EXPECT_EQ(told.classed().existence, Confidence::certain);
    for (std::size_t s = 1; s < 12; s += 2) told.judge(s, 0, 0.95);  // the same unit on both sides
    EXPECT_EQ(told.classed().identity, Confidence::questionable);
    EXPECT_EQ(told.classed().existence, Confidence::questionable);
}

TEST(Relocate, TheClassOfAPlaceFollowsRockSeenAndCover) {
    Told told;
    EXPECT_EQ(told.classed().location, LocationClass::inferred);
    told.invented.survey.stops[0].unit_seen = 0;  // rock of one side alone
    EXPECT_EQ(told.classed().location, LocationClass::inferred);
    told.invented.survey.stops[1].unit_seen = 1;  // both, within 1.645 times 25 m
    EXPECT_EQ(told.classed().location, LocationClass::accurate);
    told.invented.survey.stops[1].position = {80, 100};  // seen nearby, but beyond that
    told.judged.fit.stops[1].contact_distance_m = 80;
    EXPECT_EQ(told.classed().location, LocationClass::approximate);
    for (model::Stop& stop : told.invented.survey.stops) stop.unit_seen = model::no_unit;
    for (StopFit& stop : told.judged.fit.stops) stop.p_transported = 0.9;
    EXPECT_EQ(told.classed().location, LocationClass::concealed);
    told.invented.survey.units[1].cover = true;  // the edge of the cover itself is not below it
    EXPECT_EQ(told.classed().location, LocationClass::inferred);
}

TEST(MovedDraft, FollowsTheFieldAndDampsWhatWouldFold) {
    const auto map = [] {
        auto rectangle = [](model::UnitIndex unit, double from, double to) {
            return model::MapPolygon{
                unit, unit + 1, {{{from, -2000}, {to, -2000}, {to, 2000}, {from, 2000}, {from, -2000}}, {}}};
        };
        ProblemLog problems;
        return geo::UnitMap({rectangle(0, -2000, 0), rectangle(1, 0, 2000)}, 2, {}, problems);
    }();
    // West of the contact a stop pulls it 150 m to the west, beside it one pushes it 150 m to the east.
    // The farther they stand, the more gently the field varies; nearer ones fold it where its reach is short.
    const auto pulling = [](double off) {
        Testimony testimony = no_testimony();
        add_stop(testimony, {-off, 0}, -60, 0);
        add_stop(testimony, {off, 150}, 0, -60);
        add_stop(testimony, {-1900, -1900}, 0, -9);
        add_stop(testimony, {1900, 1900}, -9, 0);
        return testimony;
    };
    for (const double reach : {1500.0, 180.0}) {
        const Testimony testimony = pulling(reach > 1000 ? 300 : 200);
        ShiftField field = fit_two_units(testimony, map, displacement_of(150, reach, 20, 0));
        field.ready_for_many_places();
        Box stops;
        for (const Point& place : testimony.place) stops.add(place);
        const MovedDraft ground(field, 20, 20, stops, map.extent(), 1);
        EXPECT_EQ(ground.damped().empty(), reach > 1000) << reach;
        for (double x = -1000; x < 1000; x += 37) {
            for (double y = -1000; y < 1000; y += 37) {
                const Point p{x, y};
                if (reach > 1000) {
                    const Point exact = field.true_place(p);
                    EXPECT_NEAR(distance(ground.place(p), exact), 0, 0.5);
                    const auto c = field.covariance(exact);
                    const auto moved = ground.covariance(p);
                    EXPECT_NEAR((moved[0] + moved[2]) / (c[0] + c[2] + 2 * 20 * 20), 1, 0.35);
                }
                const Point a = ground.place(p), east = ground.place({x + 5, y}), north = ground.place({x, y + 5});
                EXPECT_GT((east.x - a.x) * (north.y - a.y) - (east.y - a.y) * (north.x - a.x), 0) << x << ' ' << y;
            }
        }
    }
}

}  // namespace
}  // namespace subcrop::infer
