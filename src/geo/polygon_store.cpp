#include "geo/polygon_store.hpp"

#include <cstring>
#include <utility>

#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {

namespace {

bool same_bits(const Ring& a, const Ring& b) {
    return a.size() == b.size() && (a.empty() || std::memcmp(a.data(), b.data(), a.size() * sizeof(Point)) == 0);
}

}  // namespace

PolygonStore::PolygonStore(std::vector<model::MapPolygon> polygons, EdgeTable& table, unsigned threads) {
    units_.reserve(polygons.size());
    rows_.reserve(polygons.size());
    first_ring_.reserve(polygons.size() + 1);
    std::uint32_t uses = 0;
    for (const model::MapPolygon& polygon : polygons) {
        units_.push_back(polygon.unit);
        rows_.push_back(polygon.row);
        first_ring_.push_back(static_cast<std::uint32_t>(first_use_.size()));
        const auto count = [&](const Ring& ring) {
            first_use_.push_back(uses);
            uses += table.sides(ring);
        };
        count(polygon.polygon.shell);
        for (const Ring& hole : polygon.polygon.holes) count(hole);
    }
    first_ring_.push_back(static_cast<std::uint32_t>(first_use_.size()));
    first_use_.push_back(uses);
    uses_ = table.take_uses();

    std::vector<std::uint8_t> lost(first_use_.size() - 1, 0);
    parallel_blocks(polygons.size(), 512, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            const auto number = static_cast<PolygonIndex>(i);
            const Polygon& polygon = polygons[i].polygon;
            std::size_t r = first_ring_[i];
            lost[r] = !same_bits(ring(r, number, table), polygon.shell);
            for (const Ring& hole : polygon.holes) {
                ++r;
                lost[r] = !same_bits(ring(r, number, table), hole);
            }
        }
    });
    for (std::size_t i = 0; i < polygons.size(); ++i) {
        Polygon& polygon = polygons[i].polygon;
        for (std::size_t r = first_ring_[i]; r < first_ring_[i + 1]; ++r) {
            if (lost[r])
                whole_.emplace(r,
                               std::move(r == first_ring_[i] ? polygon.shell : polygon.holes[r - first_ring_[i] - 1]));
        }
    }
}

Ring PolygonStore::ring(std::size_t number, PolygonIndex polygon, const EdgeTable& table) const {
    if (!whole_.empty()) {
        if (const auto found = whole_.find(number); found != whole_.end()) return found->second;
    }
    Ring ring;
    const std::uint32_t begin = first_use_[number], end = first_use_[number + 1];
    if (begin == end) return ring;
    ring.reserve(end - begin + 1);
    for (std::uint32_t use = begin; use < end; ++use) {
        const Edge& edge = table.edges()[uses_[use]];
        ring.push_back(table.runs_forward(polygon, number, edge) ? edge.a : edge.b);
    }
    ring.push_back(ring.front());
    return ring;
}

Polygon PolygonStore::polygon(PolygonIndex polygon, const EdgeTable& table) const {
    Polygon result;
    std::size_t number = first_ring_[polygon];
    result.shell = ring(number, polygon, table);
    for (++number; number < first_ring_[polygon + 1]; ++number) result.holes.push_back(ring(number, polygon, table));
    return result;
}

}  // namespace subcrop::geo
