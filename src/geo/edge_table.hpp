// Every edge of the map once, with the polygon to either side. Edges match by identical end points. Of the edges left
// with one polygon, end points within the tolerance of one another are made one, and an end point that lies along
// another edge (a T-junction) splits that edge, before they are matched again.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <unordered_map>
#include <vector>

#include "geo/point_hash.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::geo {

using PolygonIndex = std::uint32_t;
using EdgeIndex = std::uint32_t;
inline constexpr std::uint32_t none = 0xffffffffu;

/// `a` comes before `b` by x, then y. An edge taken out of use has a == b.
struct Edge {
    Point a;
    Point b;
    PolygonIndex left = none;  ///< to the left of a -> b
    PolygonIndex right = none;

    bool dead() const { return a == b; }
    bool open() const { return left == none || right == none; }
};

inline bool before(Point p, Point q) { return p.x < q.x || (p.x == q.x && p.y < q.y); }

/// Calls `visit(polygon, ring number, ring)` for every ring in map order, shells before holes.
template <class Visit>
void for_each_ring(const std::vector<model::MapPolygon>& polygons, Visit&& visit) {
    std::size_t number = 0;
    for (std::size_t i = 0; i < polygons.size(); ++i) {
        visit(static_cast<PolygonIndex>(i), number++, polygons[i].polygon.shell);
        for (const Ring& hole : polygons[i].polygon.holes) visit(static_cast<PolygonIndex>(i), number++, hole);
    }
}

class EdgeTable {
public:
    EdgeTable() = default;
    EdgeTable(const std::vector<model::MapPolygon>& polygons, double tolerance);

    const std::vector<Edge>& edges() const { return edges_; }
    /// Several polygons use this edge on one side: they overlap there.
    bool crowded(EdgeIndex edge) const { return crowded_[edge] != 0; }
    const Box& extent() const { return extent_; }
    /// Ground of each polygon in square metres, map order.
    const std::vector<double>& areas() const { return areas_; }
    /// The interior lies to the left of the ring as it is stored.
    bool interior_left(std::size_t ring) const { return interior_left_[ring] != 0; }

    /// Edges along a ring, in its order, T-junctions resolved. `uses` are those of its sides.
    void ring_edges(PolygonIndex polygon, std::size_t ring, std::span<const EdgeIndex> uses,
                    std::vector<EdgeIndex>& found) const;
    /// The side of a ring runs from an edge's `a` to its `b`.
    bool runs_forward(PolygonIndex polygon, std::size_t ring, const Edge& edge) const {
        return (edge.left == polygon) == interior_left(ring);
    }

    /// Edges of a ring before T-junctions split any.
    std::uint32_t sides(const Ring& ring) const;
    /// The edge of each side of all rings in the order of for_each_ring, as before T-junctions split any. It is given
    /// away.
    std::vector<EdgeIndex> take_uses();
    /// What only the building of contacts needs.
    void forget_pieces() { pieces_ = {}; }

private:
    struct OpenEdges;

    void measure(const std::vector<model::MapPolygon>& polygons);
    EdgeIndex insert(Point from, Point to, std::uint32_t bucket, PolygonIndex polygon, bool interior_left);
    std::uint32_t bucket_of(Point a, Point b) const;
    void insert_all(const std::vector<model::MapPolygon>& polygons);
    bool join_close_ends(const OpenEdges& open, double tolerance);
    void split_at_junctions(const OpenEdges& open, double tolerance);
    Point joined(Point p) const {
        if (joined_.empty()) return p;
        const auto found = joined_.find(p);
        return found == joined_.end() ? p : found->second;
    }

    std::vector<Edge> edges_;
    std::vector<std::uint8_t> crowded_;
    Box extent_;
    std::vector<double> areas_;
    std::vector<std::uint8_t> interior_left_;
    std::size_t use_count_ = 0;

    std::unordered_map<Point, Point, PointHash> joined_;  // end points moved onto another, by less than the tolerance
    std::vector<EdgeIndex> use_edge_;                     // one a side of a ring, in the order of for_each_ring
    std::unordered_map<EdgeIndex, std::vector<EdgeIndex>> pieces_;  // of a split edge, from a to b

    // Matching: a torus of cells about as wide as an edge is long keeps neighbours together in memory and, unlike a
    // grid over the extent, does not care how unevenly the edges lie.
    double inverse_bucket_width_ = 1;
    std::uint32_t column_bits_ = 0, row_bits_ = 0;
    std::vector<EdgeIndex> heads_;
    std::vector<EdgeIndex> next_;
};

}  // namespace subcrop::geo
