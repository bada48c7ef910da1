#include "subcrop/geo/contacts.hpp"

#include <gmock/gmock.h>

#include <map>
#include <set>

#include "geo/invented_map.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::geo {
namespace {

using testing::ElementsAre;

UnitMap build(std::vector<model::MapPolygon> map, std::size_t units) {
    ProblemLog problems;
    return UnitMap(std::move(map), units, {}, problems);
}

TEST(Contacts, RunFromNodeToNode) {
    // Two boxes beside each other below a third that spans both: three contacts that meet in (10, 10).
    auto wide = box_polygon(2, 3, 0, 10, 20, 20);
    wide.polygon.shell.insert(wide.polygon.shell.begin() + 1, {10, 10});
    const UnitMap map = build({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(1, 2, 10, 0, 20, 10), wide}, 3);
    ASSERT_EQ(map.contacts().size(), 3u);
    const Contact& first = map.contacts()[0];
    EXPECT_EQ(first.unit_a, 0);
    EXPECT_EQ(first.unit_b, 1);
    EXPECT_THAT(first.line, ElementsAre(Point{10, 0}, Point{10, 10}));
    EXPECT_EQ(first.left, 0);
    EXPECT_DOUBLE_EQ(first.length_m, 10);
    EXPECT_THAT(map.contacts()[1].line, ElementsAre(Point{10, 10}, Point{0, 10}));
    EXPECT_THAT(map.contacts()[2].line, ElementsAre(Point{20, 10}, Point{10, 10}));
    EXPECT_EQ(map.contacts()[2].unit_a, 1);
    EXPECT_EQ(map.contacts()[2].unit_b, 2);
}

TEST(Contacts, AVertexInsideANeighboursEdgeSplitsIt) {
    // As above without the vertex at (10, 10) in the wide box.
    const UnitMap map =
        build({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(1, 2, 10, 0, 20, 10), box_polygon(2, 3, 0, 10, 20, 20)}, 3);
    ASSERT_EQ(map.contacts().size(), 3u);
    EXPECT_THAT(map.contacts()[1].line, ElementsAre(Point{10, 10}, Point{0, 10}));
    EXPECT_THAT(map.contacts()[2].line, ElementsAre(Point{20, 10}, Point{10, 10}));
    EXPECT_EQ(map.unit_at({10.5, 10.5}), 2);
}

TEST(Contacts, AVertexAHairOffANeighboursEdgeStillMeetsIt) {
    const UnitMap map = build({box_polygon(0, 1, 0, 0, 10, 10 + 4e-7), box_polygon(1, 2, 0, 10 + 4e-7, 4, 20),
                               box_polygon(2, 3, 4, 10 + 3e-7, 10, 20)},
                              3);
    double length = 0;
    for (const Contact& contact : map.contacts()) length += contact.length_m;
    EXPECT_NEAR(length, 20, 1e-5);
}

// Coordinates that went through some other program: every vertex off by its own fraction of a micrometre.
TEST(Contacts, EndPointsAHairApartAreOne) {
    const auto clean = invent_map({.columns = 9, .rows = 8, .levels = 3, .units = 4, .islands = true, .seed = 6});
    auto shaken = clean;
    std::uint64_t key = 0;
    for (auto& polygon : shaken) {
        Ring& ring = polygon.polygon.shell;
        for (Point& p : ring) p = {p.x + 3e-7 * noise(1, ++key), p.y + 3e-7 * noise(1, ++key)};
        ring.back() = ring.front();
    }
    ProblemLog problems;
    const UnitMap one(clean, 4, {}, problems), two(shaken, 4, {}, problems);
    EXPECT_EQ(problems.size(), 0u);
    ASSERT_EQ(one.contacts().size(), two.contacts().size());
    for (std::size_t i = 0; i < one.contacts().size(); ++i) {
        ASSERT_NEAR(one.contacts()[i].length_m, two.contacts()[i].length_m, 1e-3);
    }
}

TEST(Contacts, PolygonsOfOneUnitHaveNone) {
    const UnitMap map = build({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 10, 0, 20, 10)}, 1);
    EXPECT_TRUE(map.contacts().empty());
    EXPECT_FALSE(map.nearest_contact({10, 5}, 100));
    std::vector<double> shares(1);
    map.membership({10, 5}, 0.1, shares);
    EXPECT_NEAR(shares[0], 1, 1e-12);
}

TEST(Contacts, AnIslandHasOneClosedContact) {
    auto host = box_polygon(1, 1, 0, 0, 100, 100);
    const auto island = box_polygon(0, 2, 40, 40, 60, 60);
    host.polygon.holes.push_back(island.polygon.shell);
    const UnitMap map = build({host, island}, 2);
    ASSERT_EQ(map.contacts().size(), 1u);
    EXPECT_EQ(map.contacts()[0].line.front(), map.contacts()[0].line.back());
    EXPECT_DOUBLE_EQ(map.contacts()[0].length_m, 80);
    // The hole runs counter-clockwise here, as it was given: the island lies to its left.
    EXPECT_EQ(map.contacts()[0].left, 0);
}

TEST(Contacts, ADoubledPolygonKeepsItsContact) {
    const UnitMap map =
        build({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 0, 0, 10, 10), box_polygon(1, 3, 10, 0, 20, 10)}, 2);
    ASSERT_EQ(map.contacts().size(), 1u);
    EXPECT_DOUBLE_EQ(map.contacts()[0].length_m, 10);
}

// On an invented map every edge shared by two units stands in exactly one contact, once.
TEST(Contacts, CoverSharedEdgesExactlyOnce) {
    using Ends = std::pair<std::pair<double, double>, std::pair<double, double>>;
    const auto ends = [](Point a, Point b) {
        Ends e{{a.x, a.y}, {b.x, b.y}};
        return e.first < e.second ? e : Ends{e.second, e.first};
    };
    const auto polygons = invent_map({.columns = 12, .rows = 9, .levels = 3, .units = 4, .islands = true, .seed = 5});
    std::map<Ends, std::multiset<model::UnitIndex>> uses;
    for (const auto& polygon : polygons) {
        const auto add = [&](const Ring& ring) {
            for (std::size_t i = 0; i + 1 < ring.size(); ++i) uses[ends(ring[i], ring[i + 1])].insert(polygon.unit);
        };
        add(polygon.polygon.shell);
        for (const Ring& hole : polygon.polygon.holes) add(hole);
    }
    std::set<Ends> expected;
    for (const auto& [edge, units] : uses) {
        if (units.size() == 2 && *units.begin() != *units.rbegin()) expected.insert(edge);
    }
    const UnitMap map = build(polygons, 4);
    std::set<Ends> found;
    for (const Contact& contact : map.contacts()) {
        ASSERT_GE(contact.line.size(), 2u);
        ASSERT_LT(contact.unit_a, contact.unit_b);
        double length = 0;
        for (std::size_t i = 0; i + 1 < contact.line.size(); ++i) {
            const Point a = contact.line[i], b = contact.line[i + 1];
            ASSERT_TRUE(found.insert(ends(a, b)).second) << "an edge stands in two contacts";
            length += distance(a, b);
            // A little to the left lies the unit that the contact says.
            const double step = 1e-3 / distance(a, b);
            const Point left{(a.x + b.x) / 2 - step * (b.y - a.y), (a.y + b.y) / 2 + step * (b.x - a.x)};
            ASSERT_EQ(map.unit_at(left), contact.left);
        }
        ASSERT_NEAR(contact.length_m, length, 1e-9);
        ASSERT_TRUE(contact.left == contact.unit_a || contact.left == contact.unit_b);
    }
    EXPECT_EQ(found, expected);
}

}  // namespace
}  // namespace subcrop::geo
