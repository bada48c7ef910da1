#include "subcrop/geo/zone.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <utility>
#include <vector>

#include "geo/geos_handle.hpp"
#include "geo/geos_polygon.hpp"
#include "geo/orientation.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::geo {
namespace {

constexpr std::size_t circle_corners = 32;
/// Course and width may be simplified by this share of the width.
constexpr double slack = 0.05;

struct Disc {
    Point centre;
    double radius = 0;
};

/// How far a disc differs from the one that lies as far along between two others.
double departure(const Disc& disc, const Disc& from, const Disc& to) {
    const double dx = to.centre.x - from.centre.x, dy = to.centre.y - from.centre.y, squared = dx * dx + dy * dy;
    const double along =
        squared > 0
            ? std::clamp(((disc.centre.x - from.centre.x) * dx + (disc.centre.y - from.centre.y) * dy) / squared, 0.0,
                         1.0)
            : 0;
    const Point foot{from.centre.x + along * dx, from.centre.y + along * dy};
    return distance(disc.centre, foot) + std::abs(disc.radius - (from.radius + along * (to.radius - from.radius)));
}

/// The discs that matter, after Douglas and Peucker (1973), the radius taken along as a third coordinate.
std::vector<Disc> simplified(const std::vector<Disc>& discs) {
    std::vector<std::uint8_t> kept(discs.size(), 0);
    kept.front() = kept.back() = 1;
    std::vector<std::pair<std::size_t, std::size_t>> open{{0, discs.size() - 1}};
    while (!open.empty()) {
        const auto [from, to] = open.back();
        open.pop_back();
        double worst = 0;
        std::size_t at = from;
        for (std::size_t i = from + 1; i < to; ++i) {
            const double off = departure(discs[i], discs[from], discs[to]) / discs[i].radius;
            if (off > worst) {
                worst = off;
                at = i;
            }
        }
        if (worst <= slack) continue;
        kept[at] = 1;
        open.emplace_back(from, at);
        open.emplace_back(at, to);
    }
    std::vector<Disc> result;
    for (std::size_t i = 0; i < discs.size(); ++i)
        if (kept[i]) result.push_back(discs[i]);
    return result;
}

void add_circle(const Disc& disc, std::vector<Point>& corners) {
    static const auto unit = [] {
        // about the circle, not within it
        const double out = 1 / std::cos(std::numbers::pi / circle_corners);
        std::array<Point, circle_corners> points;
        for (std::size_t i = 0; i < circle_corners; ++i) {
            const double angle = 2 * std::numbers::pi * static_cast<double>(i) / circle_corners;
            points[i] = {out * std::cos(angle), out * std::sin(angle)};
        }
        return points;
    }();
    for (const Point p : unit)
        corners.push_back({disc.centre.x + disc.radius * p.x, disc.centre.y + disc.radius * p.y});
}

/// Convex hull by Andrew's monotone chain (1979), closed.
Ring hull(std::vector<Point> points) {
    std::sort(points.begin(), points.end(), [](Point p, Point q) { return p.x < q.x || (p.x == q.x && p.y < q.y); });
    Ring ring;
    auto extend = [&](Point p, std::size_t floor) {
        while (ring.size() > floor && orientation(ring[ring.size() - 2], ring.back(), p) <= 0) ring.pop_back();
        ring.push_back(p);
    };
    for (const Point p : points) extend(p, 1);
    const std::size_t lower = ring.size();
    for (auto p = points.rbegin() + 1; p != points.rend(); ++p) extend(*p, lower);
    return ring;
}

}  // namespace

MultiPolygon zone_about(const Line& line, std::span<const double> half_widths_m) {
    assert(!line.empty() && (half_widths_m.size() == line.size() || half_widths_m.size() == 1));
    std::vector<Disc> discs;
    for (std::size_t i = 0; i < line.size(); ++i)
        discs.push_back({line[i], half_widths_m[half_widths_m.size() == 1 ? 0 : i]});
    discs = simplified(discs);
    const GeosContext context;
    std::vector<GeosGeometry> pieces;
    std::vector<Point> corners;
    for (std::size_t i = 1; i < discs.size() || i == 1; ++i) {
        corners.clear();
        add_circle(discs[i - 1], corners);
        if (i < discs.size()) add_circle(discs[i], corners);
        pieces.push_back(geos_polygon(context, {.shell = hull(corners), .holes = {}}));
    }
    const GeosGeometry zone = geos_union(context, std::move(pieces));
    if (!zone) geos_failed(context, "draw the zone about a contact");
    MultiPolygon result;
    append_polygons(context, zone.get(), result);
    return result;
}

double area_m2(const Polygon& polygon) {
    // from the ring's own first corner, so that large coordinates do not eat the digits
    auto of_ring = [](const Ring& ring) {
        double twice = 0;
        for (std::size_t i = 1; i < ring.size(); ++i) {
            const Point a{ring[i - 1].x - ring[0].x, ring[i - 1].y - ring[0].y},
                b{ring[i].x - ring[0].x, ring[i].y - ring[0].y};
            twice += a.x * b.y - a.y * b.x;
        }
        return std::abs(twice) / 2;
    };
    double area = of_ring(polygon.shell);
    for (const Ring& hole : polygon.holes) area -= of_ring(hole);
    return area;
}

Point place_inside(const Polygon& polygon) {
    const GeosContext context;
    const GeosGeometry geometry = geos_polygon(context, polygon);
    const GeosGeometry inside =
        owned(context, geometry ? GEOSPointOnSurface_r(context.get(), geometry.get()) : nullptr);
    Point place;
    if (!inside || GEOSGeomGetX_r(context.get(), inside.get(), &place.x) != 1 ||
        GEOSGeomGetY_r(context.get(), inside.get(), &place.y) != 1)
        geos_failed(context, "find a place inside a polygon");
    return place;
}

bool is_valid(const Polygon& polygon) {
    const GeosContext context;
    const GeosGeometry geometry = geos_polygon(context, polygon);
    return geometry && GEOSisValid_r(context.get(), geometry.get()) == 1;
}

MultiPolygon made_valid(const Polygon& polygon) {
    const GeosContext context;
    const GeosGeometry geometry = geos_polygon(context, polygon);
    const GeosGeometry valid = owned(context, geometry ? GEOSMakeValid_r(context.get(), geometry.get()) : nullptr);
    if (!valid) geos_failed(context, "repair a moved polygon");
    MultiPolygon result;
    append_polygons(context, valid.get(), result);
    return result;
}

}  // namespace subcrop::geo
