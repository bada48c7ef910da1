// Plain planar geometry: coordinates in metres of one projected coordinate reference system, x to the east, y to the
// north. It has no third-party types, so every folder may use it.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// A place, in metres east (x) and north (y) of the working projection unless a caller says otherwise.
struct Point {
    double x = 0;
    double y = 0;
    friend bool operator==(const Point&, const Point&) = default;
};

using Line = std::vector<Point>;
/// Closed: the first point is repeated as the last.
using Ring = std::vector<Point>;

struct Polygon {
    Ring shell;
    std::vector<Ring> holes;
};

using MultiPolygon = std::vector<Polygon>;

/// An axis-parallel box; starts empty and grows by `add`.
struct Box {
    double min_x = std::numeric_limits<double>::infinity();
    double min_y = std::numeric_limits<double>::infinity();
    double max_x = -std::numeric_limits<double>::infinity();
    double max_y = -std::numeric_limits<double>::infinity();

    bool empty() const { return min_x > max_x || min_y > max_y; }
    double width() const { return empty() ? 0 : max_x - min_x; }
    double height() const { return empty() ? 0 : max_y - min_y; }
    void add(Point p) {
        min_x = std::min(min_x, p.x);
        min_y = std::min(min_y, p.y);
        max_x = std::max(max_x, p.x);
        max_y = std::max(max_y, p.y);
    }
    void add(const Box& other) {
        min_x = std::min(min_x, other.min_x);
        min_y = std::min(min_y, other.min_y);
        max_x = std::max(max_x, other.max_x);
        max_y = std::max(max_y, other.max_y);
    }
    bool contains(Point p) const { return p.x >= min_x && p.x <= max_x && p.y >= min_y && p.y <= max_y; }
};

inline double distance(Point a, Point b) { return std::hypot(a.x - b.x, a.y - b.y); }

}  // namespace subcrop
SUBCROP_EXPORT_END
