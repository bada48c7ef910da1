#include "subcrop/geo/unit_map.hpp"

#include <gmock/gmock.h>

#include <limits>
#include <string>

#include "geo/geos_oracle.hpp"
#include "geo/invented_map.hpp"

namespace subcrop::geo {
namespace {

using testing::ElementsAre;
using Outcome = Location::Outcome;

UnitMap build(std::vector<model::MapPolygon> map, int units, UnitMapOptions options = {}) {
    ProblemLog problems;
    return UnitMap(std::move(map), static_cast<std::size_t>(units), std::move(options), problems);
}

struct Case {
    const char* what;
    InventedMap plan;
    double turn_deg;
};

const Case cases[] = {
    {"smooth cells", {.columns = 8, .rows = 7, .levels = 0}, 0},
    {"rough cells", {.columns = 9, .rows = 6, .levels = 4, .seed = 7}, 0},
    {"rough cells, turned", {.columns = 9, .rows = 6, .levels = 4, .seed = 7}, 33},
    {"islands in holes", {.columns = 6, .rows = 6, .levels = 2, .islands = true, .seed = 3}, 0},
    {"islands, turned", {.columns = 6, .rows = 6, .levels = 2, .islands = true, .seed = 3}, 77},
    {"one long row", {.columns = 40, .rows = 1, .levels = 1, .seed = 5}, 0},
    {"one polygon", {.columns = 1, .rows = 1, .levels = 3, .units = 1}, 10},
    {"near the origin, small", {.columns = 5, .rows = 5, .cell_m = 0.01, .levels = 2, .origin = {0, 0}}, 0},
};

std::vector<model::MapPolygon> map_of(const Case& c) {
    auto map = invent_map(c.plan);
    const double angle = c.turn_deg * 0.017453292519943295;
    if (angle != 0) {
        change_points(map, [&](Point& p) {
            const double x = p.x - c.plan.origin.x, y = p.y - c.plan.origin.y;
            p = {c.plan.origin.x + x * std::cos(angle) - y * std::sin(angle),
                 c.plan.origin.y + x * std::sin(angle) + y * std::cos(angle)};
        });
    }
    return map;
}

// Anywhere, on vertices, on edges, level with vertices.
std::vector<Point> places_on(const std::vector<model::MapPolygon>& map, const Box& extent, std::size_t count) {
    std::mt19937_64 random(11);
    std::uniform_real_distribution<double> share(0, 1);
    const auto in = [&](double low, double high) { return low + (high - low) * share(random); };
    const double margin = 0.1 * std::max(extent.width(), extent.height());
    std::vector<Point> places;
    for (std::size_t i = 0; i < count; ++i) {
        const Ring& ring = map[random() % map.size()].polygon.shell;
        const std::size_t k = random() % (ring.size() - 1);
        const Point a = ring[k], b = ring[k + 1];
        const Point any{in(extent.min_x - margin, extent.max_x + margin),
                        in(extent.min_y - margin, extent.max_y + margin)};
        const double along = share(random);
        switch (i % 8) {
            case 0:
                places.push_back(a);
                break;
            case 1:
                places.push_back({a.x + along * (b.x - a.x), a.y + along * (b.y - a.y)});
                break;
            case 2:
                places.push_back({any.x, a.y});
                break;
            case 3:
                places.push_back({a.x, any.y});
                break;
            default:
                places.push_back(any);
        }
    }
    return places;
}

class UnitMapAgainstGeos : public testing::TestWithParam<Case> {};

TEST_P(UnitMapAgainstGeos, LocatesAsGeosDoes) {
    const auto map = map_of(GetParam());
    const GeosOracle oracle(map);
    ASSERT_TRUE(oracle.all_valid());
    const UnitMapOptions options{.edge_tolerance_m = GetParam().plan.cell_m < 1 ? 1e-9 : 1e-6};
    const UnitMap units = build(map, GetParam().plan.units, options);
    std::size_t on_edge = 0, inside = 0, outside = 0;
    for (const Point place : places_on(map, units.extent(), 3000)) {
        SCOPED_TRACE(testing::Message() << std::hexfloat << place.x << ' ' << place.y);
        const auto truth = oracle.ask(place, options.edge_tolerance_m);
        const Location found = units.locate(place);
        if (!truth.touching.empty()) {
            ++on_edge;
            ASSERT_EQ(found.outcome, Outcome::on_edge);
            // A polygon is hit on its edge or inside it.
            std::vector<std::uint32_t> hit = truth.touching;
            hit.insert(hit.end(), truth.inside.begin(), truth.inside.end());
            std::sort(hit.begin(), hit.end());
            hit.erase(std::unique(hit.begin(), hit.end()), hit.end());
            ASSERT_EQ(found.polygons, hit);
            ASSERT_EQ(found.unit, map[hit.front()].unit);
        } else if (truth.inside.empty()) {
            ++outside;
            ASSERT_EQ(found.outcome, Outcome::outside);
            ASSERT_EQ(found.unit, model::no_unit);
        } else {
            ++inside;
            ASSERT_EQ(truth.inside.size(), 1u);
            ASSERT_EQ(found.outcome, Outcome::inside);
            ASSERT_EQ(found.unit, map[truth.inside[0]].unit);
            ASSERT_TRUE(found.polygons.empty());
        }
        ASSERT_EQ(units.unit_at(place), found.unit);
    }
    EXPECT_GT(on_edge, 500u);
    EXPECT_GT(inside, 300u);
    EXPECT_GT(outside, 100u);
}

TEST_P(UnitMapAgainstGeos, NearestContactIsTheNearest) {
    const auto map = map_of(GetParam());
    const UnitMap units = build(map, GetParam().plan.units);
    for (const Point place : places_on(map, units.extent(), 1500)) {
        SCOPED_TRACE(testing::Message() << std::hexfloat << place.x << ' ' << place.y);
        double best = std::numeric_limits<double>::infinity();
        for (const Contact& contact : units.contacts()) {
            for (std::size_t i = 0; i + 1 < contact.line.size(); ++i) {
                const Point a = contact.line[i], b = contact.line[i + 1];
                const double t = std::clamp(
                    ((place.x - a.x) * (b.x - a.x) + (place.y - a.y) * (b.y - a.y)) / std::pow(distance(a, b), 2), 0.0,
                    1.0);
                best = std::min(best, distance(place, {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)}));
            }
        }
        const double reach = 0.4 * GetParam().plan.cell_m;
        for (const double within : {reach, 1e9}) {
            const auto found = units.nearest_contact(place, within);
            ASSERT_EQ(found.has_value(), best <= within);
            if (!found) continue;
            ASSERT_NEAR(found->distance_m, best, 1e-8);
            ASSERT_NEAR(distance(found->foot, place), best, 1e-8);
            ASSERT_LT(found->contact, units.contacts().size());
        }
    }
}

INSTANTIATE_TEST_SUITE_P(Maps, UnitMapAgainstGeos, testing::ValuesIn(cases),
                         [](const auto& given) { return "case" + std::to_string(given.index); });

TEST(UnitMap, TellsEveryHitWherePolygonsOverlap) {
    const UnitMap units =
        build({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(1, 2, 5, 0, 15, 10), box_polygon(2, 3, 6, 2, 7, 3)}, 3);
    const Location twice = units.locate({8, 5});
    EXPECT_EQ(twice.outcome, Outcome::overlap);
    EXPECT_EQ(twice.unit, 0);
    EXPECT_THAT(twice.polygons, ElementsAre(0, 1));
    EXPECT_THAT(units.locate({6.5, 2.5}).polygons, ElementsAre(0, 1, 2));
    EXPECT_EQ(units.locate({12, 5}).outcome, Outcome::inside);
    EXPECT_EQ(units.locate({12, 5}).unit, 1);
    // On the edge of one, inside others: the first in map order still gives the unit.
    const Location edge = units.locate({6, 2.5});
    EXPECT_EQ(edge.outcome, Outcome::on_edge);
    EXPECT_THAT(edge.polygons, ElementsAre(0, 1, 2));
    EXPECT_EQ(edge.unit, 0);
    EXPECT_EQ(units.unit_at({6, 2.5}), 0);
}

TEST(UnitMap, ManyPolygonsOverOnePlace) {
    std::vector<model::MapPolygon> map;
    for (int i = 0; i < 30; ++i) map.push_back(box_polygon(i % 3, i, -i, -2 * i, 100 + i, 100 + i));
    const UnitMap units = build(map, 3);
    EXPECT_EQ(units.locate({50, 50}).polygons.size(), 30u);
    EXPECT_EQ(units.locate({50, 50}).unit, 0);
    EXPECT_EQ(units.locate({110.5, 50}).polygons.size(), 19u);  // those that reach 111 and more
}

TEST(UnitMap, OverlappingRandomMapsAgreeWithGeos) {
    auto map = invent_map({.columns = 5, .rows = 5, .levels = 3, .islands = true, .seed = 21});
    auto second =
        invent_map({.columns = 4, .rows = 4, .cell_m = 90, .levels = 2, .seed = 22, .origin = {500100, 5300130}});
    map.insert(map.end(), second.begin(), second.end());
    map.push_back(map[3]);  // the same polygon once more
    const GeosOracle oracle(map);
    const UnitMap units = build(map, 5);
    std::size_t overlaps = 0;
    for (const Point place : places_on(map, units.extent(), 3000)) {
        const auto truth = oracle.ask(place, 1e-6);
        const Location found = units.locate(place);
        ASSERT_EQ(found.outcome == Outcome::on_edge, !truth.touching.empty());
        if (found.outcome == Outcome::on_edge) continue;
        if (truth.inside.size() > 1) {
            ++overlaps;
            ASSERT_EQ(found.polygons, truth.inside);
        }
        ASSERT_EQ(found.unit, truth.inside.empty() ? model::no_unit : map[truth.inside[0]].unit);
    }
    EXPECT_GT(overlaps, 300u);
}

TEST(UnitMap, AreasCountHolesOut) {
    model::MapPolygon ring = box_polygon(0, 1, 0, 0, 10, 10);
    ring.polygon.holes.push_back(box_polygon(0, 0, 2, 2, 4, 5).polygon.shell);
    const UnitMap units = build({ring, box_polygon(1, 2, 2, 2, 4, 5)}, 3);
    EXPECT_THAT(units.unit_areas_m2(), ElementsAre(94, 6, 0));
    EXPECT_EQ(units.locate({3, 3}).unit, 1);
    EXPECT_EQ(units.locate({1, 3}).unit, 0);
}

TEST(UnitMap, AnEmptyMapAnswersOutside) {
    const UnitMap units = build({}, 2);
    EXPECT_EQ(units.locate({1, 2}).outcome, Outcome::outside);
    EXPECT_EQ(units.unit_at({1, 2}), model::no_unit);
    EXPECT_FALSE(units.nearest_contact({1, 2}, 1e6));
    std::vector<double> shares(2, 5);
    units.membership({1, 2}, 10, shares);
    EXPECT_THAT(shares, ElementsAre(0, 0));
}

void expect_given_back(const std::vector<model::MapPolygon>& given, const std::string& what) {
    const auto back = build(given, 5).polygons();
    ASSERT_EQ(back.size(), given.size()) << what;
    for (std::size_t i = 0; i < given.size(); ++i) {
        EXPECT_EQ(back[i].unit, given[i].unit) << what;
        EXPECT_EQ(back[i].row, given[i].row) << what;
        EXPECT_EQ(back[i].polygon.shell, given[i].polygon.shell) << what << ", polygon " << i;
        EXPECT_EQ(back[i].polygon.holes, given[i].polygon.holes) << what << ", polygon " << i;
    }
}

TEST(UnitMap, GivesItsPolygonsBackAsTheyWere) {
    for (const Case& c : cases) expect_given_back(map_of(c), c.what);
    auto map = invent_map({.columns = 6, .rows = 6, .levels = 2, .islands = true, .seed = 3});
    Ring& repeated = map[3].polygon.shell;
    repeated.insert(repeated.begin() + 2, repeated[2]);
    expect_given_back(map, "a point twice");
    // Two polygons meet the long side of a third: its edge is split there. A third pair misses by less than the
    // tolerance.
    const std::vector<model::MapPolygon> junction{box_polygon(0, 7, 0, 0, 10, 4), box_polygon(1, 8, 0, 4, 5, 8),
                                                  box_polygon(2, 9, 5, 4, 10, 8),
                                                  box_polygon(3, 10, 10 + 1e-8, 0, 20, 8)};
    expect_given_back(junction, "a T-junction");
    const std::vector<model::MapPolygon> over{box_polygon(0, 1, 0, 0, 10, 10), box_polygon(1, 2, 0, 0, 10, 10),
                                              box_polygon(2, 3, 5, 0, 10, 10)};
    expect_given_back(over, "polygons over one another");
}

TEST(UnitMap, AnswersDoNotDependOnThreads) {
    const auto map = invent_map({.columns = 30, .rows = 30, .levels = 3, .islands = true});
    const UnitMap one = build(map, 5, {.threads = 1}), many = build(map, 5, {.threads = 4});
    std::vector<double> a(5), b(5);
    for (const Point place : places_on(map, one.extent(), 2000)) {
        ASSERT_EQ(one.locate(place).unit, many.locate(place).unit);
        one.membership(place, 20, a);
        many.membership(place, 20, b);
        ASSERT_EQ(a, b);
    }
}

// One polygon far away must neither slow the matching nor spoil the answers.
TEST(UnitMap, AFarOutlierChangesNothing) {
    auto map = invent_map({.columns = 40, .rows = 40, .levels = 3});
    const UnitMap without = build(map, 5);
    map.push_back(box_polygon(0, 9999, 9e6, 9e6, 9e6 + 10, 9e6 + 10));
    const UnitMap with = build(map, 5);
    for (const Point place : places_on(invent_map({.columns = 40, .rows = 40, .levels = 3}), without.extent(), 2000)) {
        ASSERT_EQ(with.locate(place).unit, without.locate(place).unit);
    }
    EXPECT_EQ(with.contacts().size(), without.contacts().size());
}

}  // namespace
}  // namespace subcrop::geo
