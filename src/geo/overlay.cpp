#include "subcrop/geo/overlay.hpp"

#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string>
#include <vector>

#include "geo/geos_handle.hpp"
#include "geo/geos_polygon.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::geo {

namespace {

constexpr std::size_t circle_corners = 64;

/// All of it as one valid geometry.
GeosGeometry joined(const GeosContext& context, const MultiPolygon& ground) {
    std::vector<GeosGeometry> parts;
    for (const Polygon& polygon : ground) {
        GeosGeometry part = geos_polygon(context, polygon);
        if (part && GEOSisValid_r(context.get(), part.get()) != 1)
            part = owned(context, GEOSMakeValid_r(context.get(), part.get()));
        if (part) parts.push_back(std::move(part));
    }
    GeosGeometry whole = geos_union(context, std::move(parts));
    if (!whole) geos_failed(context, "join polygons");
    return whole;
}

MultiPolygon overlaid(const MultiPolygon& one, const MultiPolygon& other, bool keep_common) {
    const GeosContext context;
    const GeosGeometry a = joined(context, one), b = joined(context, other);
    const GeosGeometry ground = owned(context, keep_common ? GEOSIntersection_r(context.get(), a.get(), b.get())
                                                           : GEOSDifference_r(context.get(), a.get(), b.get()));
    if (!ground)
        geos_failed(context, keep_common ? "find the area that two polygons share" : "take one polygon off another");
    MultiPolygon result;
    append_polygons(context, ground.get(), result);
    return result;
}

/// The part of a convex ring (not closed) that is nearer to `own` than to `other`, after Sutherland and Hodgman (1974).
void keep_nearer(std::vector<Point>& ring, Point own, Point other, std::vector<Point>& scratch) {
    const Point middle{(own.x + other.x) / 2, (own.y + other.y) / 2};
    const Point away{other.x - own.x, other.y - own.y};
    auto beyond = [&](Point p) { return (p.x - middle.x) * away.x + (p.y - middle.y) * away.y; };
    scratch.clear();
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const Point a = ring[i], b = ring[(i + 1) % ring.size()];
        const double at_a = beyond(a), at_b = beyond(b);
        if (at_a <= 0) scratch.push_back(a);
        if ((at_a < 0 && at_b > 0) || (at_a > 0 && at_b < 0)) {
            const double t = at_a / (at_a - at_b);
            scratch.push_back({a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)});
        }
    }
    ring.swap(scratch);
}

}  // namespace

Polygon circle(Point centre, double radius_m) {
    assert(radius_m > 0);
    Polygon polygon;
    for (std::size_t i = 0; i < circle_corners; ++i) {
        const double angle = 2 * std::numbers::pi * static_cast<double>(i) / circle_corners;
        polygon.shell.push_back({centre.x + radius_m * std::cos(angle), centre.y + radius_m * std::sin(angle)});
    }
    polygon.shell.push_back(polygon.shell.front());
    return polygon;
}

MultiPolygon common_ground(const MultiPolygon& one, const MultiPolygon& other) { return overlaid(one, other, true); }

MultiPolygon ground_without(const MultiPolygon& ground, const MultiPolygon& taken) {
    return overlaid(ground, taken, false);
}

MultiPolygon nearer_ground(std::span<const Point> places, std::span<const std::uint8_t> chosen, const Polygon& limit) {
    assert(places.size() == chosen.size());
    Box box;
    for (const Point p : limit.shell) box.add(p);
    MultiPolygon cells;
    std::vector<Point> scratch;
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (!chosen[i]) continue;
        std::vector<Point> cell{
            {box.min_x, box.min_y}, {box.max_x, box.min_y}, {box.max_x, box.max_y}, {box.min_x, box.max_y}};
        for (std::size_t j = 0; j < places.size() && !cell.empty(); ++j) {
            if (!chosen[j] && places[j] != places[i]) keep_nearer(cell, places[i], places[j], scratch);
        }
        if (cell.size() < 3) continue;
        cell.push_back(cell.front());
        cells.push_back({std::move(cell), {}});
    }
    return common_ground(cells, {limit});
}

}  // namespace subcrop::geo
