// Gaps, slivers and overlaps become problems.
#include <gmock/gmock.h>

#include "geo/geos_oracle.hpp"
#include "geo/invented_map.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::geo {
namespace {

using testing::HasSubstr;

std::vector<Problem> problems_of(std::vector<model::MapPolygon> map) {
    ProblemLog log;
    const UnitMap built(std::move(map), 9, {.source = "draft.gpkg:units"}, log);
    return log.sorted();
}

TEST(CoverageCheck, ACleanMapHasNoProblems) {
    EXPECT_TRUE(problems_of(invent_map({.columns = 12, .rows = 12, .levels = 4, .islands = true})).empty());
    EXPECT_TRUE(problems_of({}).empty());
    EXPECT_TRUE(problems_of({box_polygon(0, 1, 0, 0, 1, 1)}).empty());
    // Two islands of ground apart from one another enclose nothing.
    EXPECT_TRUE(problems_of({box_polygon(0, 1, 0, 0, 1, 1), box_polygon(0, 2, 5, 0, 6, 1)}).empty());
}

TEST(CoverageCheck, AHoleLeftBareIsAGap) {
    auto host = box_polygon(0, 7, 0, 0, 100, 100);
    host.polygon.holes.push_back(box_polygon(0, 0, 40, 40, 60, 50).polygon.shell);
    const auto problems = problems_of({host});
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].severity, Severity::warning);
    EXPECT_EQ(problems[0].source, "draft.gpkg:units");
    EXPECT_EQ(problems[0].message, "a gap inside the map belongs to no polygon (200 m2, 6.7 m wide on average)");
    EXPECT_THAT(problems[0].remedy, HasSubstr("polygon"));
    ASSERT_TRUE(problems[0].position);
    EXPECT_TRUE((Box{40, 40, 60, 50}.contains(*problems[0].position)));
}

TEST(CoverageCheck, AnIslandInAGapIsNotPartOfIt) {
    auto host = box_polygon(0, 7, 0, 0, 100, 100);
    host.polygon.holes.push_back(box_polygon(0, 0, 40, 40, 60, 50).polygon.shell);
    const auto problems = problems_of({host, box_polygon(1, 8, 48, 44, 52, 46)});
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_THAT(problems[0].message, HasSubstr("(192 m2"));
}

TEST(CoverageCheck, OverlapsNameTheirRows) {
    const auto problems = problems_of({box_polygon(0, 12, 0, 0, 10, 10), box_polygon(1, 40, 8, 0, 20, 10)});
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].message,
              "an area is covered by the polygons of rows 12 and 40 (20.0 m2, 1.7 m wide on average); the first of "
              "them is taken there");
    EXPECT_EQ(problems[0].row, 12);
    ASSERT_TRUE(problems[0].position);
    EXPECT_TRUE((Box{8, 0, 10, 10}.contains(*problems[0].position)));
}

TEST(CoverageCheck, FindsOverlapsWithoutACrossedEdge) {
    // Nested inside one polygon; inside a clean pair; the same polygon twice.
    EXPECT_EQ(problems_of({box_polygon(0, 1, 0, 0, 100, 100), box_polygon(1, 2, 40, 40, 50, 50)}).size(), 1u);
    EXPECT_EQ(problems_of({box_polygon(0, 1, 0, 0, 50, 100), box_polygon(1, 2, 50, 0, 100, 100),
                           box_polygon(2, 3, 40, 40, 60, 60)})
                  .size(),
              1u);
    EXPECT_EQ(problems_of({box_polygon(0, 1, 0, 0, 50, 100), box_polygon(0, 2, 0, 0, 50, 100)}).size(), 1u);
    // A polygon beneath a whole clean map.
    auto map = invent_map({.columns = 6, .rows = 6, .levels = 2, .origin = {0, 0}});
    map.push_back(box_polygon(1, 99, -100, -100, 800, 800));
    EXPECT_EQ(problems_of(map).size(), 1u);
}

TEST(CoverageCheck, TwoDigitisingsOfOneContactGiveSlivers) {
    // The left polygon's edge zigzags about the right one's: gaps and overlaps in turn, 4 triangles of 0.5 x 2 x 0.1
    // m2.
    Polygon left{
        {{0, 0}, {10, 0}, {10.1, 1}, {10, 2}, {9.9, 3}, {10, 4}, {10.1, 5}, {10, 6}, {9.9, 7}, {10, 8}, {0, 8}, {0, 0}},
        {}};
    const auto problems = problems_of({{0, 1, left}, box_polygon(1, 2, 10, 0, 20, 8)});
    ASSERT_EQ(problems.size(), 4u);
    int gaps = 0, overlaps = 0;
    for (const Problem& problem : problems) {
        EXPECT_THAT(problem.message, HasSubstr("0.1 m2, 0.05 m wide"));
        gaps += problem.message.find("belongs to none") != std::string::npos;
        overlaps += problem.message.find("rows 1 and 2") != std::string::npos;
    }
    EXPECT_EQ(gaps, 2);
    EXPECT_EQ(overlaps, 2);
}

TEST(CoverageCheck, AreasAreThoseOfGeos) {
    auto map = invent_map({.columns = 6, .rows = 6, .levels = 3, .seed = 4});
    change_points(map, [](Point& p) { p = {p.x - 500000, p.y - 5300000}; });
    const std::size_t moved = 14;
    for (Point& p : map[moved].polygon.shell) p = {p.x + 3, p.y + 2};
    const GeosOracle oracle(map);
    double truth = 0;
    for (std::size_t i = 0; i < map.size(); ++i) {
        if (i != moved) truth += oracle.overlap_area(i, moved);
    }
    ASSERT_GT(truth, 100);
    // Gaps and overlaps are equal: the polygon left as much as it took.
    double overlaps = 0, gaps = 0;
    for (const Problem& problem : problems_of(map)) {
        const std::size_t open = problem.message.find('(');
        const double area = std::stod(problem.message.substr(open + 1));
        (problem.message.find("covered") != std::string::npos ? overlaps : gaps) += area;
    }
    EXPECT_NEAR(overlaps, truth, 0.02 * truth);
    EXPECT_NEAR(gaps, truth, 0.02 * truth);
}

TEST(CoverageCheck, AThousandAreListedAndTheRestSummedUp) {
    std::vector<model::MapPolygon> map;
    for (int i = 0; i < 1100; ++i) {
        auto host = box_polygon(0, i, 10.0 * i, 0, 10.0 * i + 10, 10);
        host.polygon.holes.push_back(box_polygon(0, 0, 10.0 * i + 4, 4, 10.0 * i + 6, 6).polygon.shell);
        map.push_back(std::move(host));
    }
    const auto problems = problems_of(map);
    ASSERT_EQ(problems.size(), 1001u);
    int summed = 0;
    for (const Problem& problem : problems)
        summed += problem.message == "100 smaller gaps and overlaps, 400 m2 in all, are not listed one by one";
    EXPECT_EQ(summed, 1);
}

TEST(CoverageCheck, AMapWithoutSharedEdgesGetsOneProblem) {
    std::vector<model::MapPolygon> map;
    for (int i = 0; i < 251000; ++i) {
        const double x = 10.0 * (i % 500), y = 10.0 * (i / 500);
        map.push_back(box_polygon(0, i, x, y, x + 9, y + 9));
    }
    const auto problems = problems_of(map);
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_THAT(problems[0].message, HasSubstr("1004000 edges of the map have a polygon on one side only"));
}

}  // namespace
}  // namespace subcrop::geo
