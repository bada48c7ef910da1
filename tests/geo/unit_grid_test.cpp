#include "subcrop/geo/unit_grid.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {
namespace {

UnitGrid grid_of(std::size_t columns, std::vector<model::UnitIndex> units) {
    return {{1000, 2000}, 10, columns, units.size() / columns, std::move(units)};
}

double area_of(const std::vector<model::MapPolygon>& polygons) {
    double area = 0;
    for (const model::MapPolygon& p : polygons) area += area_m2(p.polygon);
    return area;
}

TEST(UnitGrid, StraightContactsStayStraight) {
    const auto polygons = grid_polygons(grid_of(4, {0, 0, 1, 1, 0, 0, 1, 1, 0, 0, 1, 1}));
    ASSERT_EQ(polygons.size(), 2U);
    EXPECT_EQ(polygons[0].unit, 0);
    EXPECT_EQ(polygons[1].row, 2);
    ProblemLog problems;
    const UnitMap map(polygons, 2, {}, problems);
    EXPECT_EQ(problems.size(), 0U);
    ASSERT_EQ(map.contacts().size(), 1U);
    for (const Point p : map.contacts()[0].line) EXPECT_EQ(p.x, 1020);
    EXPECT_EQ(map.unit_at({1015, 2015}), 0);
    EXPECT_EQ(map.unit_at({1025, 2015}), 1);
}

TEST(UnitGrid, PiecesThatTouchInACornerAlonePart) {
    // a checkerboard of two by two, and no ground in a corner
    EXPECT_EQ(grid_polygons(grid_of(2, {0, 1, 1, 0})).size(), 4U);
    EXPECT_EQ(grid_polygons(grid_of(2, {0, model::no_unit, model::no_unit, 0})).size(), 2U);
    EXPECT_TRUE(grid_polygons(grid_of(2, {-1, -1, -1, -1})).empty());
}

TEST(UnitGrid, AnIslandIsAHoleInWhatLiesAbout) {
    std::vector<model::UnitIndex> units(49, 0);
    for (const std::size_t i : {16U, 17U, 18U, 23U, 24U, 25U, 30U, 31U, 32U}) units[i] = 1;
    const auto polygons = grid_polygons(grid_of(7, units));
    ASSERT_EQ(polygons.size(), 2U);
    ASSERT_EQ(polygons[0].polygon.holes.size(), 1U);
    EXPECT_NEAR(area_m2(polygons[0].polygon) + area_m2(polygons[1].polygon), area_of(polygons), 1e-9);
    EXPECT_GT(area_m2(polygons[1].polygon), 600);  // smoothing rounds its 900 m2 at the corners
    EXPECT_LT(area_m2(polygons[1].polygon), 900);
}

TEST(UnitGrid, AnyGridMakesACleanMap) {
    for (unsigned seed = 0; seed < 20; ++seed) {
        std::mt19937 engine(seed);
        std::vector<model::UnitIndex> units;
        for (int i = 0; i < 30 * 20; ++i) {
            // pieces of some cells, with single ones and gaps among them
            const double x = i % 30, y = i / 30;
            const bool odd = engine() % 10 == 0;
            units.push_back(odd ? static_cast<int>(engine() % 4) - 1
                                : static_cast<int>(std::floor(1.5 + 1.4 * std::sin(x / 5 + seed) * std::cos(y / 4))));
        }
        const auto polygons = grid_polygons(grid_of(30, units));
        for (const model::MapPolygon& p : polygons) EXPECT_TRUE(is_valid(p.polygon)) << seed;
        ProblemLog problems;
        const UnitMap map(polygons, 3, {}, problems);
        for (const Problem& p : problems.sorted())
            EXPECT_EQ(p.message.find("overlap"), std::string::npos) << seed << ' ' << p.message;
        std::size_t right = 0, ground = 0;
        for (std::size_t i = 0; i < units.size(); ++i) {
            const Point centre = grid_of(30, units).centre(i);
            ground += units[i] != model::no_unit;
            right += units[i] != model::no_unit && map.unit_at(centre) == units[i];
        }
        EXPECT_EQ(right, ground) << seed;  // no centre of a cell changes hands
    }
}

}  // namespace
}  // namespace subcrop::geo
