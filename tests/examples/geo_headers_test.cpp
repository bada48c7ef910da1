// The examples at the head of geo's public headers, word for word: they compile, and they do what they say.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "geo/invented_map.hpp"
#include "subcrop/geo/bed_surface.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/geo/creep.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/geo/drainage.hpp"
#include "subcrop/geo/map_changes.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/plane.hpp"
#include "subcrop/geo/redraw.hpp"
#include "subcrop/geo/terrain.hpp"
#include "subcrop/geo/unit_areas.hpp"
#include "subcrop/geo/unit_grid.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {
namespace {

/// Rises to the north by a fifth; cells of 10 m over 1 km by 1 km, with spurs if asked for.
HeightGrid slope(double spurs_m = 0) {
    HeightGrid grid(0, 1000, 10, 100, 100);
    for (std::int64_t r = 0; r < grid.rows(); ++r) {
        for (std::int64_t c = 0; c < grid.columns(); ++c) {
            const Point p = grid.centre(c, r);
            grid.set(c, r, 0.2 * p.y + spurs_m * std::sin(p.x / 100));
        }
    }
    return grid;
}

/// Two units that meet along x = `contact`, over 1 km by 1 km.
std::vector<model::MapPolygon> two_units(double contact) {
    return {box_polygon(0, 1, 0, 0, contact, 1000), box_polygon(1, 2, contact, 0, 1000, 1000)};
}

TEST(HeaderExample, BedSurface) {
    // Two beds of one plane that dips to the east by 10 degrees.
    const std::vector<BedAttitude> attitudes{{{0, 0}, 0, 10, 2}, {{500, 500}, 0, 10, 2}};
    const Point p{0, 0}, q{100, 0};
    const std::vector<Point> places{p, q};

    BedSurface beds(attitudes, {.bend = 0.02, .reach_m = 1000});
    double higher_m = beds.height_m(p) - beds.height_m(q);     // by how much a bed lies higher at p than at q
    std::vector<double> covariance = beds.covariance(places);  // of those heights; only differences mean something

    EXPECT_NEAR(higher_m, 100 * std::tan(10 * 3.14159265358979 / 180), 1);
    EXPECT_EQ(covariance.size(), 4U);
}

TEST(HeaderExample, ContactTraces) {
    ProblemLog problems;
    const UnitMap map({box_polygon(0, 1, 0, 0, 1000, 500), box_polygon(1, 2, 0, 500, 1000, 1000)}, 2, {}, problems);
    const Terrain terrain(slope(6));
    const BedSurface beds(std::vector<BedAttitude>{{{500, 500}, 0, 0, 0.5}}, {0, 1000});
    const ContactTraceOptions options;

    std::vector<ContactTrace> traces = trace_contacts(map, terrain, beds, options).traces;

    ASSERT_EQ(traces.size(), 1U);
    EXPECT_GE(traces[0].places.size(), 3U);
}

TEST(HeaderExample, Creep) {
    const Terrain terrain(slope());
    const Point place{500, 300};
    model::StopTerrain ground;
    ground.height_m = 60;
    ground.slope_deg = std::atan(0.2) * 180 / 3.14159265358979;
    ground.plan_curvature = 0;
    const std::optional<double> cover_cm = 50;
    const model::CreepSettings settings;

    const double length_m = creep_length_m(ground, cover_cm, settings, 25);  // 0 on flats
    std::vector<Point> sources = soil_sources(terrain, place, length_m);     // empty: it lies where it formed

    EXPECT_NEAR(length_m, 25, 1e-6);
    EXPECT_EQ(sources.size(), soil_parts);
    for (const Point& source : sources) EXPECT_GT(source.y, place.y);
    ground.slope_deg = 0;
    EXPECT_EQ(creep_length_m(ground, cover_cm, settings, 25), 0);
}

TEST(HeaderExample, Crs) {
    Crs from("EPSG:4326"), to("EPSG:32633");
    std::vector<Point> points{{15.0, 52.0}, {15.1, 52.1}};
    Transformation t(from, to, points, {.allow_ballpark = false});  // throws Error when refused
    std::vector<std::uint8_t> good = t.apply(points);               // in place; 1 where it worked
    std::optional<double> worst_m = t.report().accuracy_m;          // worst published accuracy used

    EXPECT_EQ(good, (std::vector<std::uint8_t>{1, 1}));
    EXPECT_NEAR(points[0].x, 500000, 1e-6);  // 15 degrees east is the middle of zone 33
    EXPECT_TRUE(worst_m.has_value());
}

TEST(HeaderExample, Drainage) {
    HeightGrid heights(0, 50, 10, 5, 5);
    for (std::int64_t column = 0; column < 5; ++column) {
        for (std::int64_t row = 0; row < 5; ++row) heights.set(column, row, static_cast<double>(10 - row));
    }
    const std::int64_t column = 2, row = 4;
    const unsigned threads = 1;
    const std::vector<Point> places{{25, 25}};
    const Terrain terrain(heights);

    Drainage water(heights);                                   // one HeightGrid of at most some million cells
    double area_m2 = water.area_m2(column, row);               // that drains through the cell, itself included
    auto ways = ways_to_stream(terrain, places, {}, threads);  // any grid: in tiles, only where there are places

    EXPECT_EQ(area_m2, 500);  // a plane that dips south: five cells of 100 m2 above one another
    EXPECT_EQ(ways.size(), 1U);
}

TEST(HeaderExample, MapChanges) {
    const std::vector<model::MapPolygon> draft = two_units(500);
    std::vector<model::MapPolygon> revised = two_units(500);
    // The revised map gives two rectangles of unit 1 to unit 0, and one the other way.
    revised = {};
    for (const Redrawn& one : redraw(draft,
                                     {box_polygon(0, 0, 600, 100, 700, 200), box_polygon(1, 0, 200, 400, 300, 500),
                                      box_polygon(0, 0, 800, 700, 900, 800)},
                                     {}))
        revised.push_back(one.polygon);

    MapChanges changes(draft, revised);
    const ChangedArea& first = changes.areas()[0];  // land of unit first.from that the revised map gives to first.to
    const std::vector<std::uint8_t> accepted{1, 0, 1};
    std::vector<CarriedOut> next = changes.carried_out(draft, accepted);  // the draft with two of them

    ASSERT_EQ(changes.areas().size(), 3U);
    EXPECT_NE(first.from, first.to);
    EXPECT_NEAR(first.area_m2, 10'000, 1e-6);
    double changed_m2 = 0;
    for (const CarriedOut& one : next) changed_m2 += one.changed_m2;
    EXPECT_NEAR(changed_m2, 20'000, 1e-6);
}

TEST(HeaderExample, Overlay) {
    const Polygon polygon{{{0, 0}, {1000, 0}, {1000, 1000}, {0, 1000}, {0, 0}}, {}};
    const Point centre{0, 0};
    const std::vector<Point> places{{250, 500}, {750, 500}};
    const std::vector<std::uint8_t> chosen{1, 0};

    MultiPolygon both = common_ground({polygon}, {circle(centre, 400)});
    MultiPolygon rest = ground_without({polygon}, {circle(centre, 400)});
    MultiPolygon near = nearer_ground(places, chosen, polygon);  // nearer to a chosen place than to any other

    ASSERT_EQ(both.size(), 1U);
    ASSERT_EQ(rest.size(), 1U);
    EXPECT_NEAR(area_m2(both[0]) + area_m2(rest[0]), 1e6, 1e-3);
    ASSERT_EQ(near.size(), 1U);
    for (const Point& p : near[0].shell) EXPECT_LE(p.x, 500 + 1e-6);
}

TEST(HeaderExample, Plane) {
    const std::vector<PlanePoint> points{{0, 0, 100}, {100, 0, 90}, {0, 100, 100}};  // dips to the east
    const double x = 50, y = 50, z = 100;

    Parsed<PlaneFit> fit = fit_plane(points);                     // three points or more; or a message why not
    std::optional<double> strike = strike_deg(fit.value->plane);  // right-hand rule: the bed dips to the right of it
    double above_m = distance_m(fit.value->plane, x, y, z);       // of a place above the plane, along its normal

    EXPECT_NEAR(std::fmod(*strike, 360), 0, 1e-6);
    EXPECT_NEAR(above_m, 5 / std::hypot(1, 0.1), 1e-6);
}

TEST(HeaderExample, Redraw) {
    const std::vector<model::MapPolygon> draft = two_units(500);
    const std::vector<model::MapPolygon> areas{box_polygon(0, 0, 600, 100, 700, 200)};

    std::vector<Redrawn> map = redraw(draft, areas, {.min_width_m = 40, .min_area_m2 = 6400});
    double redrawn_m2 = 0;  // that had another unit before
    for (const Redrawn& one : map) redrawn_m2 += one.redrawn_m2;

    EXPECT_EQ(map.size(), 3U);
    EXPECT_NEAR(redrawn_m2, 10'000, 1e-6);
}

TEST(HeaderExample, Terrain) {
    HeightGrid heights = slope();
    const Point p{505, 305};

    Terrain ground(std::move(heights));
    std::optional<double> height_m = ground.height(p);      // nothing where the terrain has a void or ends
    std::optional<Surface> shape = ground.surface(p, 20);   // slope, aspect and curvature over 20 m
    std::vector<Point> up = ground.upslope_path(p, 60, 5);  // places 5 m apart up the steepest way

    EXPECT_NEAR(*height_m, 61, 1e-4);
    EXPECT_NEAR(shape->slope_deg, std::atan(0.2) * 180 / 3.14159265358979, 1e-3);
    ASSERT_EQ(up.size(), 13U);
    EXPECT_NEAR(distance(up[0], up[1]), 5, 1e-3);
}

TEST(HeaderExample, UnitGrid) {
    std::vector<model::UnitIndex> units(80 * 60, 0);
    for (std::size_t cell = 0; cell < units.size(); ++cell) units[cell] = cell % 80 < 40 ? 0 : 1;

    UnitGrid grid{.origin = {0, 0}, .cell_m = 50, .columns = 80, .rows = 60, .units = units};
    std::vector<model::MapPolygon> polygons = grid_polygons(grid);

    ASSERT_EQ(polygons.size(), 2U);
    EXPECT_EQ(polygons[0].row, 1);
}

TEST(HeaderExample, UnitAreas) {
    ProblemLog problems;
    const UnitMap map({box_polygon(0, 1, 0, 0, 100, 100), box_polygon(0, 2, 100, 0, 200, 100)}, 1, {}, problems);
    const model::UnitIndex unit = 0;

    const UnitAreas grounds(map);
    MultiPolygon parts = grounds.of(unit);  // they meet one another in points at most

    ASSERT_EQ(parts.size(), 1U);
    EXPECT_NEAR(area_m2(parts[0]), 20'000, 1e-6);
}

TEST(HeaderExample, UnitMap) {
    model::Survey survey;
    survey.map = two_units(500);
    survey.units.resize(2);
    survey.map_source = "map.gpkg";
    ProblemLog problems;
    const Point p{520, 500};
    std::vector<double> shares(2);

    UnitMap map(survey.map, survey.units.size(), {.contact_sd_m = 25, .source = survey.map_source}, problems);
    model::UnitIndex unit = map.locate(p).unit;                            // no_unit when off the map
    std::optional<NearestContact> nearest = map.nearest_contact(p, 1000);  // its distance, its index, its foot
    map.membership(p, 30, shares);  // one probability a unit; sums to 1 on the map

    EXPECT_EQ(unit, 1);
    EXPECT_NEAR(nearest->distance_m, 20, 1e-9);
    EXPECT_NEAR(shares[0] + shares[1], 1, 1e-6);
}

TEST(HeaderExample, Zone) {
    const Line contact_line{{0, 0}, {100, 0}};
    const std::vector<double> half_widths{10, 20};
    // It crosses itself in the middle.
    const Polygon polygon{{{0, 0}, {100, 100}, {100, 0}, {0, 100}, {0, 0}}, {}};
    MultiPolygon parts;

    MultiPolygon zone = zone_about(contact_line, half_widths);  // one width a vertex
    if (!is_valid(polygon)) parts = made_valid(polygon);

    ASSERT_EQ(zone.size(), 1U);
    EXPECT_GT(area_m2(zone[0]), 100 * 30);
    EXPECT_EQ(parts.size(), 2U);
}

}  // namespace
}  // namespace subcrop::geo
