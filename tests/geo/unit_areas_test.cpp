// The ground of units, against GEOS' union of the same polygons.
#include "subcrop/geo/unit_areas.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "geo/geos_handle.hpp"
#include "invented_map.hpp"

namespace subcrop::geo {
namespace {

class Geos {
public:
    GeosGeometry collection(const MultiPolygon& polygons) const {
        std::vector<GEOSGeometry*> parts;
        for (const Polygon& polygon : polygons) {
            std::vector<GEOSGeometry*> holes;
            for (const Ring& hole : polygon.holes) holes.push_back(ring(hole));
            parts.push_back(GEOSGeom_createPolygon_r(context_.get(), ring(polygon.shell), holes.data(),
                                                     static_cast<unsigned>(holes.size())));
        }
        return owned(context_, GEOSGeom_createCollection_r(context_.get(), GEOS_MULTIPOLYGON, parts.data(),
                                                           static_cast<unsigned>(parts.size())));
    }
    GeosGeometry merged(const MultiPolygon& polygons) const {
        return owned(context_, GEOSUnaryUnion_r(context_.get(), collection(polygons).get()));
    }
    bool valid(const GeosGeometry& geometry) const { return GEOSisValid_r(context_.get(), geometry.get()) == 1; }
    double area(const GeosGeometry& geometry) const {
        double result = 0;
        GEOSArea_r(context_.get(), geometry.get(), &result);
        return result;
    }
    double area_between(const GeosGeometry& p, const GeosGeometry& q) const {
        return area(owned(context_, GEOSSymDifference_r(context_.get(), p.get(), q.get())));
    }
    int parts(const GeosGeometry& geometry) const { return GEOSGetNumGeometries_r(context_.get(), geometry.get()); }

private:
    GEOSGeometry* ring(const Ring& points) const {
        return GEOSGeom_createLinearRing_r(
            context_.get(),
            GEOSCoordSeq_copyFromBuffer_r(context_.get(), &points[0].x, static_cast<unsigned>(points.size()), 0, 0));
    }
    GeosContext context_;
};

void expect_as_geos(const std::vector<model::MapPolygon>& polygons, int units, double area_tolerance = 1e-6) {
    ProblemLog problems;
    const UnitMap map(polygons, static_cast<std::size_t>(units), {}, problems);
    const UnitAreas grounds(map);
    const Geos geos;
    for (model::UnitIndex unit = 0; unit < units; ++unit) {
        SCOPED_TRACE("unit " + std::to_string(unit));
        MultiPolygon own;
        for (const model::MapPolygon& polygon : polygons) {
            if (polygon.unit == unit) own.push_back(polygon.polygon);
        }
        const MultiPolygon ground = grounds.of(unit);
        ASSERT_EQ(ground.empty(), own.empty());
        if (own.empty()) continue;
        const GeosGeometry ours = geos.collection(ground), theirs = geos.merged(own);
        ASSERT_TRUE(geos.valid(ours));
        EXPECT_EQ(static_cast<int>(ground.size()), geos.parts(theirs));
        EXPECT_NEAR(geos.area(ours), geos.area(theirs), area_tolerance);
        EXPECT_LE(geos.area_between(ours, theirs), area_tolerance);
    }
}

MultiPolygon ground_of(const std::vector<model::MapPolygon>& polygons, model::UnitIndex unit) {
    ProblemLog problems;
    const UnitMap map(polygons, 2, {}, problems);
    return UnitAreas(map).of(unit);
}

// 2 units make many rings that touch themselves in the corners of cells, 9 units few.
TEST(UnitAreas, InventedMapsAsGeosJoinsThem) {
    for (const int units : {1, 2, 3, 9}) {
        for (std::uint32_t seed = 1; seed <= 6; ++seed) {
            for (const bool islands : {false, true}) {
                SCOPED_TRACE("seed " + std::to_string(seed) + ", units " + std::to_string(units) +
                             (islands ? ", islands" : ""));
                expect_as_geos(invent_map({.columns = 12, .rows = 9, .units = units, .islands = islands, .seed = seed}),
                               units);
            }
        }
    }
}

TEST(UnitAreas, AChessboardMeetsInPointsOnly) {
    std::vector<model::MapPolygon> map;
    for (int column = 0; column < 8; ++column) {
        for (int row = 0; row < 8; ++row) {
            map.push_back(box_polygon((column + row) % 2, column * 8 + row + 1, column * 10, row * 10, column * 10 + 10,
                                      row * 10 + 10));
        }
    }
    EXPECT_EQ(ground_of(map, 0).size(), 32U);
    expect_as_geos(map, 2);
}

TEST(UnitAreas, AHoleMayTouchItsShellInAPoint) {
    // A ring of seven cells around one of the other unit; the eighth, in a corner, is the other unit's too.
    std::vector<model::MapPolygon> map;
    for (int column = 0; column < 3; ++column) {
        for (int row = 0; row < 3; ++row) {
            const bool other = (column == 1 && row == 1) || (column == 2 && row == 2);
            map.push_back(box_polygon(other ? 1 : 0, column * 3 + row + 1, column, row, column + 1, row + 1));
        }
    }
    const MultiPolygon ground = ground_of(map, 0);
    ASSERT_EQ(ground.size(), 1U);
    EXPECT_EQ(ground[0].holes.size(), 1U);
    expect_as_geos(map, 2);
}

TEST(UnitAreas, JunctionsOnTheOtherSideOfAnEdge) {
    // One long side against two short ones, of its own unit and of another.
    const std::vector<model::MapPolygon> map{box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 10, 0, 20, 4),
                                             box_polygon(1, 3, 10, 4, 20, 10), box_polygon(0, 4, 0, 10, 3, 20),
                                             box_polygon(0, 5, 3, 10, 10, 20)};
    EXPECT_EQ(ground_of(map, 0).size(), 1U);
    expect_as_geos(map, 2);
}

TEST(UnitAreas, AHoleFilledByItsOwnUnitCloses) {
    std::vector<model::MapPolygon> map{box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 4, 4, 6, 6)};
    map[0].polygon.holes.push_back(map[1].polygon.shell);
    EXPECT_TRUE(ground_of(map, 0).at(0).holes.empty());
    expect_as_geos(map, 1);
    map[1].unit = 1;
    EXPECT_EQ(ground_of(map, 0).at(0).holes.size(), 1U);
    expect_as_geos(map, 2);
}

TEST(UnitAreas, OverlapsWithAndWithoutSharedEdges) {
    // Crossing; one within another; the same ground twice; an overlap of two units beside a neighbour that shares an
    // edge.
    expect_as_geos({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 5, 5, 15, 15)}, 1);
    expect_as_geos({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 3, 3, 6, 6)}, 1);
    expect_as_geos({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(0, 2, 0, 0, 10, 10)}, 1);
    expect_as_geos({box_polygon(0, 1, 0, 0, 10, 10), box_polygon(1, 2, 5, 5, 15, 15), box_polygon(0, 3, 10, 0, 20, 10),
                    box_polygon(0, 4, 40, 0, 50, 10), box_polygon(0, 5, 50, 0, 60, 10)},
                   2);
}

TEST(UnitAreas, TwoCoveragesLaidOverOneAnother) {
    std::vector<model::MapPolygon> map = invent_map({.columns = 6, .rows = 6, .units = 3, .seed = 3});
    std::vector<model::MapPolygon> other =
        invent_map({.columns = 6, .rows = 6, .units = 3, .seed = 4, .origin = {500037, 5300021}});
    map.insert(map.end(), other.begin(), other.end());
    expect_as_geos(map, 3);
}

TEST(UnitAreas, ASlitCutByOneShiftedPolygon) {
    // Every fifth polygon moved by 0.3 m: slivers of gap and of overlap all along its sides.
    std::vector<model::MapPolygon> map = invent_map({.columns = 8, .rows = 8, .units = 2, .seed = 5});
    for (std::size_t i = 0; i < map.size(); i += 5) {
        for (Point& p : map[i].polygon.shell) p.x += 0.3;
    }
    expect_as_geos(map, 2);
}

TEST(UnitAreas, AUnitWithoutGroundIsEmpty) {
    EXPECT_TRUE(ground_of({box_polygon(0, 1, 0, 0, 10, 10)}, 1).empty());
    EXPECT_TRUE(ground_of({}, 0).empty());
}

}  // namespace
}  // namespace subcrop::geo
