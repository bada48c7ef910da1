#include "io/polygon_screen.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/planar.hpp"

namespace subcrop::io {

namespace {

/// 1, -1, or 0 where rounding leaves the sign of the turn a-b-c open. The bound is Shewchuk's static filter, 1997,
/// "Adaptive precision floating-point arithmetic and fast robust geometric predicates", orient2d: (3 + 16 eps) eps with
/// eps = 2^-53; 4 eps is a little wider.
int turn(Point a, Point b, Point c) {
    const double left = (a.x - c.x) * (b.y - c.y);
    const double right = (a.y - c.y) * (b.x - c.x);
    const double det = left - right;
    const double bound = 4.5e-16 * (std::abs(left) + std::abs(right));
    if (det > bound) return 1;
    if (det < -bound) return -1;
    return 0;
}

enum class Side { inside, outside, unsure };

Side side_of(const Ring& ring, Point p) {
    bool inside = false;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const Point a = ring[i], b = ring[i + 1];
        if ((a.y > p.y) == (b.y > p.y)) {
            if (a.y == p.y && b.y == p.y && p.x >= std::min(a.x, b.x) && p.x <= std::max(a.x, b.x)) return Side::unsure;
            continue;
        }
        const int way = turn(a, b, p);
        if (way == 0) return Side::unsure;
        if ((way > 0) == (b.y > a.y)) inside = !inside;
    }
    return inside ? Side::inside : Side::outside;
}

}  // namespace

double twice_signed_area(const Ring& ring) {
    if (ring.empty()) return 0;
    double sum = 0;
    const Point o = ring.front();  // small numbers keep their digits
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        sum += (ring[i].x - o.x) * (ring[i + 1].y - o.y) - (ring[i + 1].x - o.x) * (ring[i].y - o.y);
    }
    return sum;
}

bool PolygonScreen::add_ring(const Ring& ring, std::uint32_t number, bool sweep_x) {
    if (ring.size() < 4 || !(ring.front() == ring.back())) return false;
    std::uint32_t count = 0;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const Point a = ring[i], b = ring[i + 1];
        if (!std::isfinite(a.x) || !std::isfinite(a.y)) return false;
        if (a == b) continue;  // a repeated point is allowed
        Edge edge{a, b, 0, 0, 0, 0, number, count++};
        edge.low = sweep_x ? std::min(a.x, b.x) : std::min(a.y, b.y);
        edge.high = sweep_x ? std::max(a.x, b.x) : std::max(a.y, b.y);
        edge.side_low = sweep_x ? std::min(a.y, b.y) : std::min(a.x, b.x);
        edge.side_high = sweep_x ? std::max(a.y, b.y) : std::max(a.x, b.x);
        edges_.push_back(edge);
    }
    ring_edges_.push_back(count);
    return count >= 3;
}

bool PolygonScreen::apart(const Edge& e, const Edge& f) const {
    if (e.ring == f.ring) {
        const std::uint32_t count = ring_edges_[e.ring];
        const std::uint32_t gap = e.index > f.index ? e.index - f.index : f.index - e.index;
        if (gap == 1 || gap == count - 1) {
            // Neighbours share a corner; they overlap only where the ring turns back on itself.
            const bool e_first = (e.index + 1) % count == f.index;
            const Point from = e_first ? e.a : f.a, corner = e_first ? e.b : f.b, to = e_first ? f.b : e.b;
            if (turn(from, corner, to) != 0) return true;
            return (from.x - corner.x) * (to.x - corner.x) + (from.y - corner.y) * (to.y - corner.y) < 0;
        }
    }
    const int e1 = turn(e.a, e.b, f.a);
    if (e1 != 0 && e1 == turn(e.a, e.b, f.b)) return true;
    const int f1 = turn(f.a, f.b, e.a);
    return f1 != 0 && f1 == turn(f.a, f.b, e.b);
}

bool PolygonScreen::surely_valid(const Polygon& polygon) {
    edges_.clear();
    ring_edges_.clear();
    const Box box = box_of(polygon.shell);
    const bool sweep_x = box.width() >= box.height();
    if (!add_ring(polygon.shell, 0, sweep_x)) return false;
    for (std::size_t h = 0; h < polygon.holes.size(); ++h) {
        if (!add_ring(polygon.holes[h], static_cast<std::uint32_t>(h + 1), sweep_x)) return false;
    }
    std::sort(edges_.begin(), edges_.end(), [](const Edge& a, const Edge& b) { return a.low < b.low; });
    for (std::size_t i = 0; i < edges_.size(); ++i) {
        const Edge& e = edges_[i];
        for (std::size_t j = i + 1; j < edges_.size() && edges_[j].low <= e.high; ++j) {
            const Edge& f = edges_[j];
            if (f.side_low > e.side_high || f.side_high < e.side_low) continue;
            if (!apart(e, f)) return false;
        }
    }
    // No two edges meet, so one point tells where a whole hole lies.
    for (std::size_t h = 0; h < polygon.holes.size(); ++h) {
        const Point corner = polygon.holes[h].front();
        if (side_of(polygon.shell, corner) != Side::inside) return false;
        for (std::size_t k = 0; k < polygon.holes.size(); ++k) {
            if (k != h && side_of(polygon.holes[k], corner) != Side::outside) return false;
        }
    }
    return true;
}

}  // namespace subcrop::io
