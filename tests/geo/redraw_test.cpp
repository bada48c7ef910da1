#include "subcrop/geo/redraw.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <set>

#include "subcrop/core/problem.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/unit_grid.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {
namespace {

Polygon rectangle(double west, double south, double east, double north) {
    return {{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}, {}};
}

/// Three strips from west to east, units 0, 1, 2, and a fourth far off.
std::vector<model::MapPolygon> strips() {
    return {{0, 11, rectangle(0, 0, 100, 300)},
            {1, 12, rectangle(100, 0, 200, 300)},
            {2, 13, rectangle(200, 0, 300, 300)},
            {0, 14, rectangle(300, 0, 400.1, 300)}};
}

std::vector<model::MapPolygon> polygons_of(const std::vector<Redrawn>& redrawn) {
    std::vector<model::MapPolygon> result;
    for (const Redrawn& one : redrawn) result.push_back(one.polygon);
    return result;
}

double area_of(const std::vector<Redrawn>& redrawn, model::UnitIndex unit) {
    double sum = 0;
    for (const Redrawn& one : redrawn)
        if (one.polygon.unit == unit) sum += area_m2(one.polygon.polygon);
    return sum;
}

std::size_t faults(const std::vector<Redrawn>& redrawn) {
    ProblemLog problems;
    const UnitMap map(polygons_of(redrawn), 3, {}, problems);
    return problems.size();
}

TEST(Redraw, NothingDrawnLeavesTheMap) {
    const auto map = strips();
    const auto same = redraw(map, {}, {10, 100});
    ASSERT_EQ(same.size(), 4U);
    for (std::size_t i = 0; i < 4; ++i) {
        EXPECT_EQ(same[i].polygon.polygon.shell, map[i].polygon.shell);
        EXPECT_EQ(same[i].polygon.row, map[i].row);
        EXPECT_TRUE(same[i].as_it_was);
        EXPECT_EQ(same[i].redrawn_m2, 0);
    }
}

TEST(Redraw, AnAreaWithinAPolygonBecomesAHole) {
    const auto redrawn = redraw(strips(), {{0, 1, rectangle(210, 100, 250, 150)}}, {10, 100});
    ASSERT_EQ(redrawn.size(), 5U);
    EXPECT_EQ(redrawn[2].polygon.row, 13);
    EXPECT_EQ(redrawn[2].polygon.polygon.holes.size(), 1U);
    EXPECT_FALSE(redrawn[2].as_it_was);
    EXPECT_EQ(redrawn[4].polygon.unit, 0);
    EXPECT_EQ(redrawn[4].polygon.row, 0);  // new
    EXPECT_EQ(redrawn[4].parts, std::vector<std::size_t>{2});
    EXPECT_DOUBLE_EQ(redrawn[4].redrawn_m2, 2000);
    EXPECT_EQ(faults(redrawn), 0U);
}

TEST(Redraw, AnAreaThatMeetsItsOwnUnitGrowsFromIt) {
    const auto redrawn = redraw(strips(), {{0, 1, rectangle(80, 100, 150, 150)}}, {10, 100});
    ASSERT_EQ(redrawn.size(), 4U);
    EXPECT_EQ(redrawn[0].polygon.row, 11);
    EXPECT_EQ(redrawn[0].parts, (std::vector<std::size_t>{0, 1}));
    EXPECT_DOUBLE_EQ(redrawn[0].redrawn_m2, 50 * 50);
    EXPECT_DOUBLE_EQ(area_m2(redrawn[0].polygon.polygon), 30'000 + 2500);
    EXPECT_EQ(redrawn[1].polygon.row, 12);
    EXPECT_DOUBLE_EQ(area_m2(redrawn[1].polygon.polygon), 30'000 - 2500);
    EXPECT_EQ(faults(redrawn), 0U);
}

TEST(Redraw, AcrossAContactBothSidesGiveWay) {
    const auto redrawn = redraw(strips(), {{0, 1, rectangle(150, 100, 250, 150)}}, {10, 100});
    ASSERT_EQ(redrawn.size(), 5U);
    EXPECT_DOUBLE_EQ(area_of(redrawn, 0), 30'000 + 30'030 + 5000);
    EXPECT_DOUBLE_EQ(area_of(redrawn, 1), 27'500);
    EXPECT_DOUBLE_EQ(area_of(redrawn, 2), 27'500);
    EXPECT_EQ(faults(redrawn), 0U);
}

TEST(Redraw, CutInTwoAPolygonIsTwo) {
    const auto redrawn = redraw(strips(), {{0, 1, rectangle(90, 100, 210, 150)}}, {10, 100});
    // Strip 1 is parted; the area hangs together with strip 0.
    ASSERT_EQ(redrawn.size(), 5U);
    EXPECT_EQ(std::count_if(redrawn.begin(), redrawn.end(), [](const Redrawn& one) { return one.polygon.row == 12; }),
              2);
    EXPECT_EQ(faults(redrawn), 0U);
}

TEST(Redraw, CrumbsStayAsTheyWereOrFallToWhatLiesBeside) {
    // too small, too narrow: the map keeps them, byte for byte
    for (const Polygon& area : {rectangle(120, 100, 128, 108), rectangle(120, 50, 128, 250)}) {
        const auto redrawn = redraw(strips(), {{0, 1, area}}, {10, 100});
        ASSERT_EQ(redrawn.size(), 4U);
        for (const Redrawn& one : redrawn) EXPECT_TRUE(one.as_it_was);
    }
    // what it leaves of strip 1 at its eastern edge is a sliver
    const auto redrawn =
        redraw(strips(), {{0, 1, rectangle(120, 100, 195, 150)}, {2, 2, rectangle(100, 200, 105, 220)}}, {10, 100});
    EXPECT_EQ(redrawn.size(), 5U);
    EXPECT_EQ(faults(redrawn), 0U);
    const auto to_the_edge = redraw(strips(), {{0, 1, rectangle(90, -10, 195, 310)}}, {10, 100});
    ASSERT_EQ(to_the_edge.size(), 3U);  // strip 1 is gone, its sliver along strip 2 too
    EXPECT_DOUBLE_EQ(to_the_edge[0].redrawn_m2, 30'000);
    EXPECT_EQ(faults(to_the_edge), 0U);
}

TEST(Redraw, NothingIsDrawnOffTheMap) {
    const auto redrawn =
        redraw(strips(), {{1, 1, rectangle(-50, 100, 50, 150)}, {1, 2, rectangle(1000, 0, 1100, 100)}}, {10, 100});
    EXPECT_EQ(redrawn.size(), 5U);
    EXPECT_DOUBLE_EQ(area_of(redrawn, 1), 30'000 + 2500);
}

TEST(Redraw, EveryPlaceHasTheUnitDrawnThereAndEdgesStayShared) {
    std::mt19937 random(7);
    const auto any = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
    for (int trial = 0; trial < 30; ++trial) {
        // A map of twelve columns with wavy borders.
        std::vector<model::MapPolygon> map;
        std::vector<Line> borders;
        for (int c = 0; c <= 12; ++c) {
            Line border;
            for (int r = 0; r <= 20; ++r)
                border.push_back({500'000.3 + 100 * c + (c % 12 ? any(-40, 40) : 0), 6e6 + 50.7 * r});
            borders.push_back(border);
        }
        for (int c = 0; c < 12; ++c) {
            Ring ring = borders[static_cast<std::size_t>(c)];
            ring.insert(ring.end(), borders[static_cast<std::size_t>(c) + 1].rbegin(),
                        borders[static_cast<std::size_t>(c) + 1].rend());
            ring.push_back(ring.front());
            map.push_back({static_cast<model::UnitIndex>(c % 3), c + 1, {ring, {}}});
        }
        UnitGrid grid{{500'150, 6'000'100}, 20, 50, 40, std::vector<model::UnitIndex>(2000, model::no_unit)};
        for (int blot = 0; blot < 5; ++blot) {
            const Point centre{any(500'100, 501'200), any(6e6, 6'001'000)};
            const double radius = any(30, 200);
            for (std::size_t cell = 0; cell < grid.units.size(); ++cell)
                if (distance(grid.centre(cell), centre) < radius)
                    grid.units[cell] = static_cast<model::UnitIndex>(blot % 3);
        }
        const auto areas = grid_polygons(grid);
        const auto redrawn = redraw(map, areas, {0, 0});
        EXPECT_EQ(faults(redrawn), 0U) << trial;
        std::set<std::pair<double, double>> vertices;
        for (const model::MapPolygon& p : map)
            for (const Point v : p.polygon.shell) vertices.emplace(v.x, v.y);
        double whole = 0, before = 0;
        for (const Redrawn& one : redrawn) {
            whole += area_m2(one.polygon.polygon);
            EXPECT_TRUE(is_valid(one.polygon.polygon));
        }
        for (const model::MapPolygon& p : map) before += area_m2(p.polygon);
        EXPECT_NEAR(whole, before, 1e-6 * before);
        ProblemLog problems;
        std::set<std::pair<double, double>> kept;
        for (const Redrawn& one : redrawn) {
            for (const Point v : one.polygon.polygon.shell) kept.emplace(v.x, v.y);
            for (const Ring& hole : one.polygon.polygon.holes)
                for (const Point v : hole) kept.emplace(v.x, v.y);
        }
        const UnitMap after(polygons_of(redrawn), 3, {}, problems), first(map, 3, {}, problems),
            drawn(areas, 3, {}, problems);
        // Of the map's vertices only those under an area may go.
        for (const auto& [x, y] : vertices) {
            if (drawn.locate({x, y}).outcome == Location::Outcome::outside) {
                EXPECT_TRUE(kept.contains({x, y})) << trial << ": " << x << ' ' << y;
            }
        }
        for (int i = 0; i < 400; ++i) {
            const Point p{any(500'001, 501'200), any(6e6, 6'001'000)};
            const model::UnitIndex over = drawn.unit_at(p);
            EXPECT_EQ(after.unit_at(p), over == model::no_unit ? first.unit_at(p) : over) << trial;
        }
    }
}

TEST(Redraw, APolygonThatOverlapsAnotherGivesItsCommonGroundToTheFirst) {
    std::vector<model::MapPolygon> map{{0, 1, rectangle(0, 0, 100, 100)}, {1, 2, rectangle(90, 0, 200, 100)}};
    const auto redrawn = redraw(map, {{2, 1, rectangle(60, 40, 130, 80)}}, {1, 1});
    EXPECT_EQ(faults(redrawn), 0U);
    EXPECT_DOUBLE_EQ(area_of(redrawn, 0), 100 * 100 - 40 * 40);
    EXPECT_DOUBLE_EQ(area_of(redrawn, 1), 100 * 100 - 30 * 40);
}

}  // namespace
}  // namespace subcrop::geo
