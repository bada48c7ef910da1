#include "geo/way_round.hpp"

#include <algorithm>
#include <cstddef>
#include <functional>
#include <limits>
#include <optional>
#include <queue>
#include <tuple>
#include <utility>
#include <vector>

#include "geo/geos_polygon.hpp"
#include "geo/orientation.hpp"
#include "subcrop/core/planar.hpp"

namespace subcrop::geo {

namespace {

constexpr double simplified_by_m = 0.5;
/// Ways may touch the widened areas, so they are tested against areas this much narrower.
constexpr double touching_m = 0.01;

/// A corner about which a way can bend, with its neighbours on the outline.
struct Corner {
    Point place, before, after;
};

struct PreparedDeleter {
    GEOSContextHandle_t context = nullptr;
    void operator()(const GEOSPreparedGeometry* geometry) const { GEOSPreparedGeom_destroy_r(context, geometry); }
};

/// One area, widened by the margin.
struct Obstacle {
    Polygon outline;
    Box box;
    std::vector<Corner> corners;
    GeosGeometry core;  ///< what no way may meet
    std::unique_ptr<const GEOSPreparedGeometry, PreparedDeleter> prepared;
};

double signed_area(const Ring& ring) {
    double twice = 0;
    for (std::size_t i = 1; i < ring.size(); ++i) {
        const Point a{ring[i - 1].x - ring[0].x, ring[i - 1].y - ring[0].y},
            b{ring[i].x - ring[0].x, ring[i].y - ring[0].y};
        twice += a.x * b.y - a.y * b.x;
    }
    return twice / 2;
}

/// `area_on_left`: of the ring as it is ordered.
void add_corners(const Ring& ring, bool area_on_left, std::vector<Corner>& corners) {
    const std::size_t n = ring.size() - 1;
    for (std::size_t i = 0; i < n; ++i) {
        const Corner corner{ring[i], ring[(i + n - 1) % n], ring[i + 1]};
        if (orientation(corner.before, corner.place, corner.after) == (area_on_left ? 1 : -1))
            corners.push_back(corner);
    }
}

/// Whether a taut string from a place can bend at the corner: the outline stays on one side of it.
bool bends_at(const Corner& corner, Point from) {
    return orientation(from, corner.place, corner.before) * orientation(from, corner.place, corner.after) >= 0;
}

bool same(Point a, Point b) { return a.x == b.x && a.y == b.y; }

}  // namespace

bool crosses(Point from, Point to, std::span<const Polygon> areas) {
    const auto cross = [](Point a, Point b, Point c, Point d) {
        return (orientation(a, b, c) > 0) != (orientation(a, b, d) > 0) &&
               (orientation(c, d, a) > 0) != (orientation(c, d, b) > 0);
    };
    for (const Polygon& area : areas) {
        const auto meets = [&](const Ring& ring) {
            for (std::size_t i = 1; i < ring.size(); ++i)
                if (cross(from, to, ring[i - 1], ring[i])) return true;
            return false;
        };
        if (meets(area.shell) || std::any_of(area.holes.begin(), area.holes.end(), meets)) return true;
        if (inside(area, from)) return true;
    }
    return false;
}

struct WaysRound::State {
    GeosContext context;
    std::vector<Polygon> areas;
    std::vector<Obstacle> obstacles;

    GeosGeometry widened(const GEOSGeometry* geometry, double by_m) const {
        constexpr int segments_of_quarter = 8, square_end = GEOSBUF_CAP_FLAT;
        constexpr double mitre_limit = 2;
        return owned(context, geometry == nullptr
                                  ? nullptr
                                  : GEOSBufferWithStyle_r(context.get(), geometry, by_m, segments_of_quarter,
                                                          square_end, GEOSBUF_JOIN_MITRE, mitre_limit));
    }

    void make_obstacles() {
        std::vector<GeosGeometry> polygons;
        for (const Polygon& area : areas) {
            GeosGeometry polygon = geos_polygon(context, area);
            if (polygon && GEOSisValid_r(context.get(), polygon.get()) != 1)
                polygon = owned(context, GEOSMakeValid_r(context.get(), polygon.get()));
            if (GeosGeometry wider = widened(polygon.get(), margin_m)) polygons.push_back(std::move(wider));
        }
        const GeosGeometry all = geos_union(context, std::move(polygons));
        const GeosGeometry simple =
            owned(context, all ? GEOSTopologyPreserveSimplify_r(context.get(), all.get(), simplified_by_m) : nullptr);
        MultiPolygon outlines;
        append_polygons(context, simple.get(), outlines);
        for (Polygon& outline : outlines) {
            Obstacle made;
            made.core = widened(geos_polygon(context, outline).get(), -touching_m);
            if (!made.core || GEOSisEmpty_r(context.get(), made.core.get()) == 1) continue;
            made.prepared = {GEOSPrepare_r(context.get(), made.core.get()), PreparedDeleter{context.get()}};
            if (!made.prepared) continue;
            add_corners(outline.shell, signed_area(outline.shell) > 0, made.corners);
            for (const Ring& hole : outline.holes) add_corners(hole, signed_area(hole) < 0, made.corners);
            made.box = box_of(outline.shell);
            made.outline = std::move(outline);
            obstacles.push_back(std::move(made));
        }
    }

    bool blocks(const Obstacle& obstacle, Point a, Point b) const {
        Box box;
        box.add(a);
        box.add(b);
        if (!meet(box, obstacle.box)) return false;
        const Line line{a, b};
        const GeosGeometry segment = geos_lines(context, std::span(&line, 1));
        return GEOSPreparedIntersects_r(context.get(), obstacle.prepared.get(), segment.get()) != 0;
    }

    /// Where a way from a place within the margin of an area begins: the place itself elsewhere; nothing inside an
    /// area.
    std::optional<Point> off_the_margin(Point place) const {
        for (const Obstacle& obstacle : obstacles) {
            if (!obstacle.box.contains(place) || !inside(obstacle.outline, place)) continue;
            NearestOnLine nearest;
            Point foot = place;
            const auto look = [&](const Ring& ring) {
                const NearestOnLine found = nearest_on(ring, place);
                if (found.off_m >= nearest.off_m) return;
                nearest = found;
                const Point a = ring[found.edge - 1], b = ring[found.edge];
                const double length = distance(a, b);
                double before = 0;
                for (std::size_t i = 1; i < found.edge; ++i) before += distance(ring[i - 1], ring[i]);
                const double t = length > 0 ? std::clamp((found.along_m - before) / length, 0.0, 1.0) : 0;
                foot = {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
            };
            look(obstacle.outline.shell);
            for (const Ring& hole : obstacle.outline.holes) look(hole);
            if (crosses(place, foot, areas)) return std::nullopt;
            return foot;
        }
        return place;
    }

    /// Past these obstacles only.
    Line shortest(Point from, Point to, const std::vector<const Obstacle*>& in_the_way) const {
        constexpr std::size_t start = 0, goal = 1, first_corner = 2;
        std::vector<const Corner*> corners;
        for (const Obstacle* obstacle : in_the_way)
            for (const Corner& corner : obstacle->corners) corners.push_back(&corner);
        const std::size_t count = first_corner + corners.size();
        const auto place = [&](std::size_t node) {
            return node == start ? from : node == goal ? to : corners[node - first_corner]->place;
        };
        const auto taut = [&](std::size_t node, Point other) {
            return node < first_corner || bends_at(*corners[node - first_corner], other);
        };
        const auto seen = [&](std::size_t a, std::size_t b) {
            return std::none_of(in_the_way.begin(), in_the_way.end(),
                                [&](const Obstacle* obstacle) { return blocks(*obstacle, place(a), place(b)); });
        };
        // Lengths with what is left at least, length so far, node, the node before.
        using Step = std::tuple<double, double, std::size_t, std::size_t>;
        std::priority_queue<Step, std::vector<Step>, std::greater<>> open;
        std::vector<std::size_t> before(count, count);
        open.emplace(distance(from, to), 0, start, start);
        while (!open.empty()) {
            const auto [whole, length, node, parent] = open.top();
            open.pop();
            if (before[node] != count || (node != start && !seen(parent, node))) continue;
            before[node] = parent;
            if (node == goal) break;
            const Point here = place(node);
            for (std::size_t next = goal; next < count; ++next) {
                if (before[next] != count || !taut(node, place(next)) || !taut(next, here)) continue;
                const double so_far = length + distance(here, place(next));
                open.emplace(so_far + distance(place(next), to), so_far, next, node);
            }
        }
        if (before[goal] == count) return {};
        Line way{to};
        for (std::size_t node = goal; node != start;) {
            node = before[node];
            way.push_back(place(node));
        }
        std::reverse(way.begin(), way.end());
        return way;
    }
};

WaysRound::WaysRound(std::span<const Polygon> areas) : state_(std::make_unique<State>()) {
    state_->areas.assign(areas.begin(), areas.end());
    if (!areas.empty()) state_->make_obstacles();
}

WaysRound::~WaysRound() = default;

Line WaysRound::between(Point from, Point to) const {
    const State& s = *state_;
    if (!crosses(from, to, s.areas)) return {from, to};
    const std::optional<Point> begin = s.off_the_margin(from), end = s.off_the_margin(to);
    if (!begin || !end) return {};
    Line way{*begin, *end};
    std::vector<const Obstacle*> in_the_way;
    for (bool more = true; more;) {
        more = false;
        for (const Obstacle& obstacle : s.obstacles) {
            if (std::find(in_the_way.begin(), in_the_way.end(), &obstacle) != in_the_way.end()) continue;
            for (std::size_t i = 1; i < way.size(); ++i) {
                if (!s.blocks(obstacle, way[i - 1], way[i])) continue;
                in_the_way.push_back(&obstacle);
                more = true;
                break;
            }
        }
        if (more) way = s.shortest(*begin, *end, in_the_way);
        if (way.empty()) return {};
    }
    // The steps across the margin, unless the way can go on straight.
    if (!same(from, *begin)) {
        if (way.size() > 1 && !crosses(from, way[1], s.areas))
            way.front() = from;
        else
            way.insert(way.begin(), from);
    }
    if (!same(to, *end)) {
        if (way.size() > 1 && !crosses(way[way.size() - 2], to, s.areas))
            way.back() = to;
        else
            way.push_back(to);
    }
    for (std::size_t i = 1; i < way.size(); ++i)
        if (crosses(way[i - 1], way[i], s.areas)) return {};  // GEOS could not widen an area
    return way;
}

}  // namespace subcrop::geo
