#include "subcrop/geo/map_changes.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <tuple>

#include "subcrop/core/planar.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/redraw.hpp"
#include "subcrop/geo/unit_grid.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {
namespace {

Polygon rectangle(double west, double south, double east, double north) {
    return {{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}, {}};
}

/// Two strips, units 0 and 1, that meet at `contact`.
std::vector<model::MapPolygon> strips(double contact) {
    return {{0, 11, rectangle(0, 0, contact, 300)}, {1, 12, rectangle(contact, 0, 200, 300)}};
}

std::vector<model::MapPolygon> polygons_of(const std::vector<CarriedOut>& drawn) {
    std::vector<model::MapPolygon> result;
    for (const CarriedOut& one : drawn) result.push_back(one.polygon);
    return result;
}

/// Edges that are not used exactly once each way, those of the outer edge apart: what no coverage has.
std::size_t unshared_edges(const std::vector<CarriedOut>& drawn, const Box& extent) {
    std::map<std::tuple<double, double, double, double>, int> uses;
    const auto add = [&](const Ring& ring) {
        for (std::size_t i = 1; i < ring.size(); ++i) {
            Point a = ring[i - 1], b = ring[i];
            if (std::tie(b.x, b.y) < std::tie(a.x, a.y)) std::swap(a, b);
            ++uses[{a.x, a.y, b.x, b.y}];
        }
    };
    for (const CarriedOut& one : drawn) {
        add(one.polygon.polygon.shell);
        for (const Ring& hole : one.polygon.polygon.holes) add(hole);
    }
    return static_cast<std::size_t>(std::count_if(uses.begin(), uses.end(), [&](const auto& use) {
        const auto& [ax, ay, bx, by] = use.first;
        const bool outer = (ax == bx && (ax == extent.min_x || ax == extent.max_x)) ||
                           (ay == by && (ay == extent.min_y || ay == extent.max_y));
        return use.second != (outer ? 1 : 2);
    }));
}

TEST(MapChanges, OneMapTwiceHasNone) {
    const MapChanges changes(strips(100), strips(100));
    EXPECT_TRUE(changes.areas().empty());
    const auto same = changes.carried_out(strips(100), {});
    ASSERT_EQ(same.size(), 2U);
    EXPECT_TRUE(same[0].as_it_was);
    EXPECT_EQ(same[1].polygon.polygon.shell, strips(100)[1].polygon.shell);
}

TEST(MapChanges, AContactThatMovesGivesTheStripBetween) {
    const MapChanges changes(strips(100), strips(130));
    ASSERT_EQ(changes.areas().size(), 1U);
    EXPECT_EQ(changes.areas()[0].from, 1);
    EXPECT_EQ(changes.areas()[0].to, 0);
    EXPECT_DOUBLE_EQ(changes.areas()[0].area_m2, 30 * 300);
    EXPECT_TRUE(inside(changes.areas()[0].ground, changes.areas()[0].inside));
    const std::vector<std::uint8_t> yes{1}, no{0};
    const auto moved = changes.carried_out(strips(100), yes);
    ASSERT_EQ(moved.size(), 2U);
    EXPECT_DOUBLE_EQ(area_m2(moved[0].polygon.polygon), 130 * 300);
    EXPECT_EQ(moved[0].polygon.row, 11);
    EXPECT_DOUBLE_EQ(moved[0].changed_m2, 30 * 300);
    EXPECT_EQ(moved[0].areas, std::vector<std::uint32_t>{0});
    EXPECT_EQ(moved[1].polygon.row, 12);
    EXPECT_FALSE(moved[1].as_it_was);
    for (const CarriedOut& one : changes.carried_out(strips(100), no)) EXPECT_TRUE(one.as_it_was);
}

TEST(MapChanges, AnEdgeThatAnAreaEndsOnGetsItsCornersOnBothSides) {
    // The body reaches the contact at x = 100 exactly, so that strip 0 gets two vertices and keeps its ground.
    const std::vector<model::MapPolygon> draft = strips(100);
    const std::vector<model::MapPolygon> after{
        draft[0],
        {1,
         12,
         {{{100, 0}, {200, 0}, {200, 300}, {100, 300}, {100, 150}, {150, 150}, {150, 100}, {100, 100}, {100, 0}}, {}}},
        {2, 0, rectangle(100, 100, 150, 150)}};
    const MapChanges changes(draft, after);
    ASSERT_EQ(changes.areas().size(), 1U);
    const std::vector<std::uint8_t> yes{1}, no{0};
    const auto drawn = changes.carried_out(draft, yes);
    ASSERT_EQ(drawn.size(), 3U);
    EXPECT_EQ(drawn[0].polygon.polygon.shell.size(), 7U);
    EXPECT_EQ(drawn[0].changed_m2, 0);
    EXPECT_EQ(drawn[2].polygon.row, 0);
    EXPECT_EQ(drawn[2].polygon.unit, 2);
    EXPECT_EQ(unshared_edges(drawn, {0, 0, 200, 300}), 0U);
    for (const CarriedOut& one : changes.carried_out(draft, no)) EXPECT_TRUE(one.as_it_was);
}

TEST(MapChanges, ABodyFarFromEveryEdgeOfTheDraftIsFound) {
    const std::vector<model::MapPolygon> draft = strips(100);
    auto after = draft;
    after[0].polygon.holes.push_back({{40, 100}, {40, 120}, {60, 120}, {60, 100}, {40, 100}});
    after.push_back({2, 0, rectangle(40, 100, 60, 120)});
    const MapChanges changes(draft, after);
    ASSERT_EQ(changes.areas().size(), 1U);
    EXPECT_DOUBLE_EQ(changes.areas()[0].area_m2, 400);
    const std::vector<std::uint8_t> yes{1};
    const auto drawn = changes.carried_out(draft, yes);
    ASSERT_EQ(drawn.size(), 3U);
    EXPECT_EQ(drawn[0].polygon.polygon.holes.size(), 1U);
    EXPECT_TRUE(drawn[1].as_it_was);
}

TEST(MapChanges, WhatOneOfTheMapsLeavesEmptyIsNoChange) {
    auto after = strips(100);
    after[0].polygon = rectangle(-20, 0, 100, 300);
    after[1].polygon = rectangle(100, 0, 190, 300);
    EXPECT_TRUE(MapChanges(strips(100), after).areas().empty());
}

/// A map of twelve columns with wavy borders, three units.
struct Columns {
    std::vector<model::MapPolygon> map;
    Box extent{500'000.3, 6e6, 501'200.3, 6e6 + 20 * 50.7};

    template <class Any>
    explicit Columns(Any&& any) {
        std::vector<Line> borders;
        for (int c = 0; c <= 12; ++c) {
            Line border;
            for (int r = 0; r <= 20; ++r)
                border.push_back({500'000.3 + 100 * c + (c % 12 ? any(-40, 40) : 0), 6e6 + 50.7 * r});
            borders.push_back(border);
        }
        extent.max_x = borders.back().front().x;
        extent.max_y = borders.back().back().y;
        for (int c = 0; c < 12; ++c) {
            Ring ring = borders[static_cast<std::size_t>(c)];
            ring.insert(ring.end(), borders[static_cast<std::size_t>(c) + 1].rbegin(),
                        borders[static_cast<std::size_t>(c) + 1].rend());
            ring.push_back(ring.front());
            map.push_back({static_cast<model::UnitIndex>(c % 3), c + 1, {ring, {}}});
        }
    }
};

TEST(MapChanges, AnyChoiceOfThemMakesACleanMapThatHasThemAndNoOthers) {
    std::mt19937 random(11);
    const auto any = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
    for (int trial = 0; trial < 30; ++trial) {
        const Columns columns(any);
        // Contacts moved smoothly, the outer edge kept, then bodies drawn in.
        std::vector<model::MapPolygon> moved = columns.map;
        const double phase = any(0, 6), size = trial % 3 == 0 ? 0 : any(2, 25);
        for (model::MapPolygon& polygon : moved)
            for (Point& p : polygon.polygon.shell)
                if (p.x > columns.extent.min_x && p.x < columns.extent.max_x)
                    p.x += size * std::sin(p.y / 150 + phase) * std::cos(p.x / 170);
        UnitGrid grid{{500'150, 6'000'100}, 20, 50, 40, std::vector<model::UnitIndex>(2000, model::no_unit)};
        for (int blot = 0; blot < 5; ++blot) {
            const Point centre{any(500'100, 501'200), any(6e6, 6'001'000)};
            const double radius = any(30, 200);
            for (std::size_t cell = 0; cell < grid.units.size(); ++cell)
                if (distance(grid.centre(cell), centre) < radius)
                    grid.units[cell] = static_cast<model::UnitIndex>(blot % 3);
        }
        std::vector<model::MapPolygon> after;
        for (const Redrawn& one : redraw(moved, grid_polygons(grid), {0, 0})) after.push_back(one.polygon);
        const MapChanges changes(columns.map, after);
        ASSERT_GT(changes.areas().size(), 0U);
        for (const auto share : {0.0, 0.3, 0.7, 1.0}) {
            std::vector<std::uint8_t> accepted(changes.areas().size());
            for (auto& one : accepted) one = any(0, 1) < share;
            const auto drawn = changes.carried_out(columns.map, accepted);
            EXPECT_EQ(unshared_edges(drawn, columns.extent), 0U) << trial << ' ' << share;
            ProblemLog problems;
            const UnitMap result(polygons_of(drawn), 3, {}, problems), first(columns.map, 3, {}, problems),
                last(after, 3, {}, problems);
            double whole = 0, changed = 0;
            for (const CarriedOut& one : drawn) {
                whole += area_m2(one.polygon.polygon);
                changed += one.changed_m2;
                EXPECT_TRUE(is_valid(one.polygon.polygon));
                if (one.as_it_was) {
                    const auto same = std::find_if(columns.map.begin(), columns.map.end(), [&](const auto& polygon) {
                        return polygon.row == one.polygon.row && polygon.polygon.shell == one.polygon.polygon.shell;
                    });
                    EXPECT_NE(same, columns.map.end());
                }
            }
            EXPECT_NEAR(whole, columns.extent.width() * columns.extent.height(), 1e-3);
            double asked = 0;
            for (std::size_t i = 0; i < accepted.size(); ++i) asked += accepted[i] ? changes.areas()[i].area_m2 : 0;
            EXPECT_NEAR(changed, asked, 1e-3);
            if (share == 0) {
                EXPECT_EQ(drawn.size(), columns.map.size());
                for (const CarriedOut& one : drawn) EXPECT_TRUE(one.as_it_was);
            }
            for (int i = 0; i < 300; ++i) {
                const Point p{any(500'001, 501'200), any(6e6, 6'001'000)};
                const model::UnitIndex was = first.unit_at(p), is = last.unit_at(p), now = result.unit_at(p);
                if (was == is) {
                    EXPECT_EQ(now, was);
                    continue;
                }
                bool in_accepted = false;
                for (std::size_t a = 0; a < accepted.size(); ++a)
                    in_accepted = in_accepted || (accepted[a] && inside(changes.areas()[a].ground, p));
                EXPECT_EQ(now, in_accepted ? is : was) << trial << ' ' << share;
            }
        }
    }
}

}  // namespace
}  // namespace subcrop::geo
