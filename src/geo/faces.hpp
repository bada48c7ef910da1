// Faces: the pieces into which lines cut the plane, and the edges that they share.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <utility>
#include <vector>

#include "geo/edge_table.hpp"
#include "geo/geos_handle.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/together.hpp"

namespace subcrop::geo {

struct Side {
    std::uint32_t left = none, right = none;  ///< faces, along the edge from its lesser end
};
struct EdgeKey {
    Point a, b;
    friend bool operator==(const EdgeKey&, const EdgeKey&) = default;
};
struct EdgeHash {
    std::size_t operator()(const EdgeKey& e) const {
        const std::hash<double> h;
        std::size_t sum = h(e.a.x);
        for (const double v : {e.a.y, e.b.x, e.b.y}) sum = sum * 0x9e3779b97f4a7c15ull + h(v);
        return sum;
    }
};

/// Calls `visit(from, to)` for the edges of a polygon, with its interior to their left.
template <class Visit>
void for_each_edge(const Polygon& polygon, Visit&& visit) {
    const auto along = [&](const Ring& ring, bool shell) {
        double twice = 0;
        for (std::size_t i = 1; i < ring.size(); ++i)
            twice += (ring[i - 1].x - ring[0].x) * (ring[i].y - ring[0].y) -
                     (ring[i].x - ring[0].x) * (ring[i - 1].y - ring[0].y);
        const bool forward = (twice > 0) == shell;
        for (std::size_t i = 1; i < ring.size(); ++i)
            forward ? visit(ring[i - 1], ring[i]) : visit(ring[i], ring[i - 1]);
    };
    along(polygon.shell, true);
    for (const Ring& hole : polygon.holes) along(hole, false);
}

/// Enclosed by lines on all sides and crossed by none.
struct Enclosed {
    Polygon polygon;
    GeosGeometry inside;  ///< a place in it
};
/// All that the lines enclose, cut where they meet once and for all, so that faces share edges to the last bit.
std::vector<Enclosed> enclosed_by(const GeosContext& context, std::span<const Line> lines);

}  // namespace subcrop::geo
