#include "geo/ring_linker.hpp"

#include <bit>
#include <cstddef>
#include <cstdint>
#include <utility>

#include "geo/edge_table.hpp"
#include "geo/orientation.hpp"

namespace subcrop::geo {
namespace {

std::uint64_t mixed(std::uint64_t bits) {  // the finaliser of SplitMix64 (Steele, Lea, Flood 2014)
    bits = (bits ^ (bits >> 30U)) * 0xBF58476D1CE4E5B9U;
    bits = (bits ^ (bits >> 27U)) * 0x94D049BB133111EBU;
    return bits ^ (bits >> 31U);
}

/// Numbers distinct places from 0; open addressing.
class Places {
public:
    explicit Places(std::size_t most) : slots_(std::bit_ceil(most * 2 + 2), none) { points_.reserve(most); }

    std::uint32_t number(Point p) {
        // Adding 0 makes one of the two zeros.
        const std::uint64_t hash =
            mixed(mixed(std::bit_cast<std::uint64_t>(p.x + 0.0)) + std::bit_cast<std::uint64_t>(p.y + 0.0));
        for (std::size_t at = hash & (slots_.size() - 1);; at = (at + 1) & (slots_.size() - 1)) {
            if (slots_[at] == none) {
                slots_[at] = static_cast<std::uint32_t>(points_.size());
                points_.push_back(p);
                return slots_[at];
            }
            if (points_[slots_[at]] == p) return slots_[at];
        }
    }
    std::size_t size() const { return points_.size(); }
    Point operator[](std::uint32_t place) const { return points_[place]; }

private:
    std::vector<std::uint32_t> slots_;
    std::vector<Point> points_;
};

bool anticlockwise(const Ring& ring) {
    double twice_area = 0;
    for (std::size_t i = 1; i + 1 < ring.size(); ++i) {
        twice_area += (ring[i].x - ring[0].x) * (ring[i + 1].y - ring[0].y) -
                      (ring[i + 1].x - ring[0].x) * (ring[i].y - ring[0].y);
    }
    return twice_area > 0;
}

/// Turning clockwise about `centre` from the direction of `from`: is `p` met before `q`?
bool met_first(Point centre, Point from, Point p, Point q) {
    const bool p_late = orientation(centre, from, p) >= 0, q_late = orientation(centre, from, q) >= 0;
    if (p_late != q_late) return q_late;
    return orientation(centre, p, q) < 0;
}

}  // namespace

std::optional<Polygon> link_rings(const std::vector<DirectedEdge>& edges) {
    Places places(edges.size());
    std::vector<std::uint32_t> from, to;
    from.reserve(edges.size());
    to.reserve(edges.size());
    for (const DirectedEdge& edge : edges) {
        from.push_back(places.number(edge.from));
        to.push_back(places.number(edge.to));
    }
    // Edges by the place they leave; most places have one.
    std::vector<std::uint32_t> starts(places.size() + 1, 0), leaving(edges.size());
    for (const std::uint32_t place : from) ++starts[place + 1];
    for (std::size_t i = 1; i < starts.size(); ++i) starts[i] += starts[i - 1];
    std::vector<std::uint32_t> filled(starts.begin(), starts.end() - 1);
    for (std::uint32_t e = 0; e < edges.size(); ++e) leaving[filled[from[e]]++] = e;

    std::vector<std::uint8_t> used(edges.size(), 0);
    // The edge along the same interior: the first clockwise from where we came.
    const auto next_after = [&](std::uint32_t edge) {
        std::uint32_t best = none;
        const std::uint32_t place = to[edge];
        for (std::uint32_t i = starts[place]; i < starts[place + 1]; ++i) {
            const std::uint32_t e = leaving[i];
            if (used[e]) continue;
            if (best == none || met_first(edges[edge].to, edges[edge].from, edges[e].to, edges[best].to)) best = e;
        }
        return best;
    };
    Polygon result;
    std::vector<std::uint32_t> path;                       // places
    std::vector<std::uint32_t> step(places.size(), none);  // in path
    for (std::uint32_t first = 0; first < edges.size(); ++first) {
        if (used[first]) continue;
        path.assign(1, from[first]);
        step[from[first]] = 0;
        for (std::uint32_t edge = first;;) {
            used[edge] = 1;
            const std::uint32_t here = to[edge];
            if (step[here] != none) {  // a place met again closes a ring
                const std::size_t begin = step[here];
                Ring ring;
                ring.reserve(path.size() - begin + 1);
                for (std::size_t i = begin; i < path.size(); ++i) {
                    ring.push_back(places[path[i]]);
                    step[path[i]] = none;
                }
                ring.push_back(places[here]);
                path.resize(begin);
                if (!anticlockwise(ring))
                    result.holes.push_back(std::move(ring));
                else if (result.shell.empty())
                    result.shell = std::move(ring);
                else
                    return std::nullopt;
                if (path.empty()) break;
            }
            step[here] = static_cast<std::uint32_t>(path.size());
            path.push_back(here);
            edge = next_after(edge);
            if (edge == none) return std::nullopt;
        }
    }
    if (result.shell.empty()) return std::nullopt;
    return result;
}

}  // namespace subcrop::geo
