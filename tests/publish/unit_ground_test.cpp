#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogr_geometry.h>

#include <cmath>
#include <cstddef>
#include <vector>

#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {
namespace {

model::MapPolygon rectangle(model::UnitIndex unit, double x, double y, double width, double height) {
    model::MapPolygon result;
    result.unit = unit;
    result.polygon.shell = {{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}, {x, y}};
    return result;
}

double area(const Ring& ring) {
    double twice = 0;
    for (std::size_t i = 1; i < ring.size(); ++i) twice += ring[i - 1].x * ring[i].y - ring[i].x * ring[i - 1].y;
    return std::abs(twice) / 2;
}

double area(const MultiPolygon& ground) {
    double sum = 0;
    for (const Polygon& part : ground) {
        sum += area(part.shell);
        for (const Ring& hole : part.holes) sum -= area(hole);
    }
    return sum;
}

bool valid(const MultiPolygon& ground) {
    OGRMultiPolygon geometry;
    for (const Polygon& part : ground) {
        OGRPolygon polygon;
        auto add = [&polygon](const Ring& points) {
            OGRLinearRing ring;
            for (const Point p : points) ring.addPoint(p.x, p.y);
            polygon.addRing(&ring);
        };
        add(part.shell);
        for (const Ring& hole : part.holes) add(hole);
        geometry.addGeometry(&polygon);
    }
    return geometry.IsValid();
}

TEST(UnitGround, PolygonsThatShareAnEdgeBecomeOne) {
    const std::vector<model::MapPolygon> map{rectangle(0, 0, 0, 10, 10), rectangle(1, 0, 10, 10, 10),
                                             rectangle(0, 10, 0, 5, 10)};
    const MultiPolygon ground = unit_ground(map, 0);
    ASSERT_EQ(ground.size(), 1U);
    EXPECT_DOUBLE_EQ(area(ground), 150);
    EXPECT_TRUE(valid(ground));
}

TEST(UnitGround, PolygonsThatMeetInAPointOrNotAtAllStayApart) {
    const std::vector<model::MapPolygon> map{rectangle(0, 0, 0, 10, 10), rectangle(0, 10, 10, 10, 10),
                                             rectangle(0, 100, 0, 1, 1)};
    const MultiPolygon ground = unit_ground(map, 0);
    EXPECT_EQ(ground.size(), 3U);
    EXPECT_DOUBLE_EQ(area(ground), 201);
    EXPECT_TRUE(valid(ground));
}

TEST(UnitGround, AHoleFilledByItsOwnUnitCloses) {
    model::MapPolygon ring = rectangle(0, 0, 0, 10, 10);
    ring.polygon.holes.push_back({{4, 4}, {4, 6}, {6, 6}, {6, 4}, {4, 4}});
    const MultiPolygon ground = unit_ground({ring, rectangle(0, 4, 4, 2, 2)}, 0);
    ASSERT_EQ(ground.size(), 1U);
    EXPECT_TRUE(ground[0].holes.empty());
    EXPECT_DOUBLE_EQ(area(ground), 100);
}

TEST(UnitGround, AHoleOfAnotherUnitStays) {
    model::MapPolygon ring = rectangle(0, 0, 0, 10, 10);
    ring.polygon.holes.push_back({{4, 4}, {4, 6}, {6, 6}, {6, 4}, {4, 4}});
    const MultiPolygon ground = unit_ground({ring, rectangle(1, 4, 4, 2, 2)}, 0);
    ASSERT_EQ(ground.size(), 1U);
    EXPECT_EQ(ground[0].holes.size(), 1U);
    EXPECT_DOUBLE_EQ(area(ground), 96);
}

TEST(UnitGround, AUnitWithoutGroundIsEmpty) {
    EXPECT_TRUE(unit_ground({rectangle(0, 0, 0, 10, 10)}, 1).empty());
    EXPECT_TRUE(unit_ground({}, 0).empty());
}

// A chessboard of strips: every second column of a 40 x 40 grid is one unit, its cells a chain of shared edges.
TEST(UnitGround, ChainsOfCellsBecomeStrips) {
    std::vector<model::MapPolygon> map;
    for (int column = 0; column < 40; ++column)
        for (int row = 0; row < 40; ++row) map.push_back(rectangle(column % 2, column * 10.0, row * 10.0, 10, 10));
    const MultiPolygon ground = unit_ground(map, 0);
    EXPECT_EQ(ground.size(), 20U);
    EXPECT_DOUBLE_EQ(area(ground), 80000);
    EXPECT_TRUE(valid(ground));
}

TEST(EvidenceRows, AutomaticKeepsTheReckoningOfSmallSurveysOnly) {
    using model::EvidenceRows;
    EXPECT_EQ(evidence_rows(EvidenceRows::automatic, 100'000), EvidenceRows::top);
    EXPECT_EQ(evidence_rows(EvidenceRows::automatic, 100'001), EvidenceRows::none);
    EXPECT_EQ(evidence_rows(EvidenceRows::all, 1'000'000), EvidenceRows::all);
    EXPECT_EQ(evidence_rows(EvidenceRows::none, 1), EvidenceRows::none);
}

}  // namespace
}  // namespace subcrop::publish
