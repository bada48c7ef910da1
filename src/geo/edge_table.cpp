#include "geo/edge_table.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <tuple>
#include <utility>

#include "geo/edge_grid.hpp"

namespace subcrop::geo {
namespace {

// Twice the signed area, taken from the first point so that large coordinates cost no digits.
double twice_area(const Ring& ring) {
    double sum = 0;
    for (std::size_t i = 1; i + 1 < ring.size(); ++i) {
        sum += (ring[i].x - ring[0].x) * (ring[i + 1].y - ring[0].y) -
               (ring[i + 1].x - ring[0].x) * (ring[i].y - ring[0].y);
    }
    return sum;
}

}  // namespace

// Edges with a polygon on one side only, and a grid to find them by.
struct EdgeTable::OpenEdges {
    std::vector<Edge> edges;
    std::vector<EdgeIndex> index;
    std::vector<Point> ends;  // distinct, by x, then y
    EdgeGrid grid;

    OpenEdges(const EdgeTable& table, double tolerance) {
        for (EdgeIndex i = 0; i < table.edges_.size(); ++i) {
            if (!table.edges_[i].open()) continue;
            edges.push_back(table.edges_[i]);
            index.push_back(i);
        }
        ends.reserve(2 * edges.size());
        for (const Edge& edge : edges) {
            ends.push_back(edge.a);
            ends.push_back(edge.b);
        }
        std::sort(ends.begin(), ends.end(), before);
        ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
        grid = EdgeGrid(edges, table.extent_, edges.size() / 2, tolerance);
    }
};

EdgeTable::EdgeTable(const std::vector<model::MapPolygon>& polygons, double tolerance) {
    measure(polygons);
    insert_all(polygons);
    {
        const OpenEdges open(*this, tolerance);
        if (!join_close_ends(open, tolerance)) split_at_junctions(open, tolerance);
    }
    if (!joined_.empty()) {
        insert_all(polygons);
        split_at_junctions(OpenEdges(*this, tolerance), tolerance);
    }
    heads_ = {};
    next_ = {};
}

void EdgeTable::insert_all(const std::vector<model::MapPolygon>& polygons) {
    heads_.assign(std::size_t{1} << (column_bits_ + row_bits_), none);
    edges_.clear();
    next_.clear();
    crowded_.clear();
    use_edge_.clear();
    edges_.reserve(use_count_ * 9 / 16 + 16);
    next_.reserve(edges_.capacity());
    crowded_.reserve(edges_.capacity());
    use_edge_.reserve(use_count_);
    struct Side {
        Point from, to;
        std::uint32_t bucket;
    };
    std::vector<Side> sides;
    for_each_ring(polygons, [&](PolygonIndex polygon, std::size_t number, const Ring& ring) {
        const bool left = interior_left(number);
        // Buckets are fetched while those of the ring's other sides are worked out, and their edges likewise: waiting
        // for memory took most of the time.
        sides.clear();
        for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
            const Point from = joined(ring[i]), to = joined(ring[i + 1]);
            if (from == to) continue;
            const std::uint32_t bucket = bucket_of(from, to);
            __builtin_prefetch(&heads_[bucket]);
            sides.push_back({from, to, bucket});
        }
        for (const Side& side : sides) {
            const EdgeIndex first = heads_[side.bucket];
            if (first != none) __builtin_prefetch(&edges_[first]);
        }
        for (const Side& side : sides) use_edge_.push_back(insert(side.from, side.to, side.bucket, polygon, left));
    });
}

void EdgeTable::measure(const std::vector<model::MapPolygon>& polygons) {
    assert(polygons.size() < none);
    areas_.assign(polygons.size(), 0.0);
    double length = 0;
    for_each_ring(polygons, [&](PolygonIndex polygon, std::size_t, const Ring& ring) {
        const double area = twice_area(ring) / 2;
        const bool shell = &ring == &polygons[polygon].polygon.shell;
        areas_[polygon] += shell ? std::abs(area) : -std::abs(area);
        interior_left_.push_back(shell ? area > 0 : area < 0);
        for (std::size_t i = 0; i < ring.size(); ++i) {
            extent_.add(ring[i]);
            if (i == 0 || ring[i] == ring[i - 1]) continue;
            // The longer leg is within 30 % of the length and costs no root.
            length += std::max(std::abs(ring[i].x - ring[i - 1].x), std::abs(ring[i].y - ring[i - 1].y));
            ++use_count_;
        }
    });
    assert(use_count_ < none);
    inverse_bucket_width_ = use_count_ > 0 ? static_cast<double>(use_count_) / length : 1;
    column_bits_ = row_bits_ = 3;
    while ((std::size_t{1} << (column_bits_ + row_bits_)) < use_count_ / 2)
        ++(row_bits_ < column_bits_ ? row_bits_ : column_bits_);
}

std::uint32_t EdgeTable::bucket_of(Point a, Point b) const {
    const auto wrap = [&](double middle, std::uint32_t bits) {  // never below 0 but for rounding
        return static_cast<std::uint64_t>(static_cast<std::int64_t>(middle * inverse_bucket_width_)) &
               ((std::uint64_t{1} << bits) - 1);
    };
    const std::uint64_t x = wrap((a.x + b.x) / 2 - extent_.min_x, column_bits_);
    const std::uint64_t y = wrap((a.y + b.y) / 2 - extent_.min_y, row_bits_);
    // Tiles of 8 x 8 buckets, so that the edges of one polygon share cache lines.
    const std::uint64_t tile = ((y >> 3) << (column_bits_ - 3)) | (x >> 3);
    return static_cast<std::uint32_t>((tile << 6) | ((y & 7) << 3) | (x & 7));
}

EdgeIndex EdgeTable::insert(Point from, Point to, std::uint32_t bucket, PolygonIndex polygon, bool interior_left) {
    const bool forward = before(from, to);
    const Point a = forward ? from : to;
    const Point b = forward ? to : from;
    const bool on_left = forward == interior_left;
    bool side_taken = false;
    for (EdgeIndex i = heads_[bucket]; i != none; i = next_[i]) {
        Edge& edge = edges_[i];
        if (edge.a != a || edge.b != b) continue;
        PolygonIndex& side = on_left ? edge.left : edge.right;
        if (side == none) {
            side = polygon;
            if (side_taken) crowded_[i] = 1;
            return i;
        }
        side_taken = true;
        crowded_[i] = 1;
    }
    const auto index = static_cast<EdgeIndex>(edges_.size());
    edges_.push_back({a, b, on_left ? polygon : none, on_left ? none : polygon});
    crowded_.push_back(side_taken ? 1 : 0);
    next_.push_back(heads_[bucket]);
    heads_[bucket] = index;
    return index;
}

bool EdgeTable::join_close_ends(const OpenEdges& open, double tolerance) {
    for (const Point end : open.ends) {
        Point onto = end;
        for (const EdgeIndex i : open.grid.at(end)) {
            for (const Point other : {open.edges[i].a, open.edges[i].b}) {
                if (before(other, onto) && distance(other, end) <= tolerance) onto = other;
            }
        }
        // Ends come in order, so what `onto` itself joins is known.
        if (onto != end) joined_[end] = joined(onto);
    }
    return !joined_.empty();
}

void EdgeTable::split_at_junctions(const OpenEdges& open, double tolerance) {
    std::vector<std::tuple<EdgeIndex, double, Point>> splits;
    for (const Point end : open.ends) {
        for (const EdgeIndex i : open.grid.at(end)) {
            const Edge& edge = open.edges[i];
            if (edge.a == end || edge.b == end) continue;
            const Foot foot = foot_on(edge.a, edge.b, end);
            if (foot.squared_distance > tolerance * tolerance || foot.share <= 0 || foot.share >= 1) continue;
            splits.emplace_back(open.index[i], foot.share, end);
        }
    }
    if (splits.empty()) return;
    std::sort(splits.begin(), splits.end(), [](const auto& p, const auto& q) {
        return std::get<0>(p) != std::get<0>(q) ? std::get<0>(p) < std::get<0>(q) : std::get<1>(p) < std::get<1>(q);
    });
    for (std::size_t i = 0; i < splits.size();) {
        const EdgeIndex index = std::get<0>(splits[i]);
        const Edge whole = edges_[index];
        const bool left = whole.left != none;
        const PolygonIndex polygon = left ? whole.left : whole.right;
        edges_[index].b = whole.a;  // out of use, and no longer found by insert
        std::vector<EdgeIndex>& pieces = pieces_[index];
        Point from = whole.a;
        for (; i < splits.size() && std::get<0>(splits[i]) == index; ++i) {
            const Point to = std::get<2>(splits[i]);
            if (to == from) continue;
            pieces.push_back(insert(from, to, bucket_of(from, to), polygon, left));
            from = to;
        }
        pieces.push_back(insert(from, whole.b, bucket_of(from, whole.b), polygon, left));
    }
}

void EdgeTable::ring_edges(PolygonIndex polygon, std::size_t ring, std::span<const EdgeIndex> uses,
                           std::vector<EdgeIndex>& found) const {
    found.clear();
    for (const EdgeIndex edge : uses) {
        if (!edges_[edge].dead()) {
            found.push_back(edge);
            continue;
        }
        const std::vector<EdgeIndex>& pieces = pieces_.at(edge);
        if (runs_forward(polygon, ring, edges_[edge])) {
            found.insert(found.end(), pieces.begin(), pieces.end());
        } else {
            found.insert(found.end(), pieces.rbegin(), pieces.rend());
        }
    }
}

std::uint32_t EdgeTable::sides(const Ring& ring) const {
    std::uint32_t count = 0;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) count += joined(ring[i]) != joined(ring[i + 1]);
    return count;
}

std::vector<EdgeIndex> EdgeTable::take_uses() {
    joined_ = {};
    return std::exchange(use_edge_, {});
}

}  // namespace subcrop::geo
