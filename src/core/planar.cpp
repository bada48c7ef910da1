#include "subcrop/core/planar.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop {

NearestOnLine nearest_on(const Line& line, Point place) {
    NearestOnLine nearest;
    double begun = 0;
    for (std::size_t i = 1; i < line.size(); ++i) {
        const Point a = line[i - 1], b = line[i];
        const double dx = b.x - a.x, dy = b.y - a.y, squared = dx * dx + dy * dy, length = std::sqrt(squared);
        const double t =
            squared > 0 ? std::clamp(((place.x - a.x) * dx + (place.y - a.y) * dy) / squared, 0.0, 1.0) : 0;
        const double off = distance(place, {a.x + t * dx, a.y + t * dy});
        if (off < nearest.off_m) nearest = {off, begun + t * length, i};
        begun += length;
    }
    return nearest;
}

Point place_along(const Line& line, double along_m) {
    double left = std::max(along_m, 0.0);
    for (std::size_t i = 1; i < line.size(); ++i) {
        const Point a = line[i - 1], b = line[i];
        const double step = distance(a, b);
        if (step > 0 && step >= left) return {std::lerp(a.x, b.x, left / step), std::lerp(a.y, b.y, left / step)};
        left -= step;
    }
    return line.back();
}

Line part_of(const Line& line, double from_m, double to_m) {
    Line part;
    double along = 0;
    const auto at = [&](std::size_t i, double t) {
        return Point{std::lerp(line[i - 1].x, line[i].x, t), std::lerp(line[i - 1].y, line[i].y, t)};
    };
    for (std::size_t i = 1; i < line.size(); ++i) {
        const double length = distance(line[i - 1], line[i]);
        if (length <= 0) continue;
        const double begin = std::clamp((from_m - along) / length, 0.0, 1.0),
                     end = std::clamp((to_m - along) / length, 0.0, 1.0);
        if (end > begin) {
            if (part.empty()) part.push_back(at(i, begin));
            part.push_back(at(i, end));
        }
        along += length;
    }
    return part;
}

bool inside(const Ring& ring, Point place) {
    bool in = false;
    for (std::size_t i = 1; i < ring.size(); ++i) {
        const Point a = ring[i - 1], b = ring[i];
        if ((a.y > place.y) != (b.y > place.y) && place.x < (a.x - b.x) * (place.y - b.y) / (a.y - b.y) + b.x) in = !in;
    }
    return in;
}

bool inside(const Polygon& polygon, Point place) {
    return inside(polygon.shell, place) && std::none_of(polygon.holes.begin(), polygon.holes.end(),
                                                        [&](const Ring& hole) { return inside(hole, place); });
}

std::vector<Point> places_in(const Polygon& polygon, double step_m) {
    const Box box = box_of(polygon.shell);
    std::vector<Point> places;
    std::vector<double> crossings;
    const auto cross = [&](const Ring& ring, double y) {
        for (std::size_t i = 1; i < ring.size(); ++i) {
            const Point a = ring[i - 1], b = ring[i];
            if ((a.y > y) != (b.y > y)) crossings.push_back((a.x - b.x) * (y - b.y) / (a.y - b.y) + b.x);
        }
    };
    for (double y = box.min_y + step_m / 2; y < box.max_y; y += step_m) {
        crossings.clear();
        cross(polygon.shell, y);
        for (const Ring& hole : polygon.holes) cross(hole, y);
        std::sort(crossings.begin(), crossings.end());
        for (std::size_t i = 1; i < crossings.size(); i += 2) {
            const double first = std::ceil((crossings[i - 1] - box.min_x) / step_m - 0.5);
            for (double k = first;; k += 1) {
                const double x = box.min_x + (k + 0.5) * step_m;
                if (x >= crossings[i]) break;
                places.push_back({x, y});
            }
        }
    }
    return places;
}

Box box_of(std::span<const Point> points) {
    Box box;
    for (const Point p : points) box.add(p);
    return box;
}

Box box_of(const MultiPolygon& ground) {
    Box box;
    for (const Polygon& polygon : ground)
        for (const Point p : polygon.shell) box.add(p);
    return box;
}

bool meet(const Box& a, const Box& b) {
    return a.min_x <= b.max_x && b.min_x <= a.max_x && a.min_y <= b.max_y && b.min_y <= a.max_y;
}

}  // namespace subcrop
