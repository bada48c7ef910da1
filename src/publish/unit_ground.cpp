#include <ogr_geometry.h>

#include <bit>
#include <cstdint>
#include <memory>
#include <numeric>
#include <unordered_map>
#include <utility>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

namespace {

std::uint64_t mixed(std::uint64_t bits) {  // the finaliser of SplitMix64 (Steele, Lea, Flood 2014)
    bits = (bits ^ (bits >> 30U)) * 0xBF58476D1CE4E5B9U;
    bits = (bits ^ (bits >> 27U)) * 0x94D049BB133111EBU;
    return bits ^ (bits >> 31U);
}

std::uint64_t hash_of(Point p) {
    return mixed(mixed(std::bit_cast<std::uint64_t>(p.x + 0.0)) + std::bit_cast<std::uint64_t>(p.y + 0.0));
}

/// Which polygon first used each edge, by the edge's hash, whichever way it runs; open addressing.
class EdgeOwners {
public:
    explicit EdgeOwners(std::size_t edges) : slots_(std::bit_ceil(edges * 2 + 2)) {}

    /// The polygon that had the edge before, or `polygon` itself.
    std::uint32_t claim(Point a, Point b, std::uint32_t polygon) {
        const std::uint64_t key = mixed(hash_of(a) + hash_of(b)) | 1U;
        for (std::size_t at = key & (slots_.size() - 1);; at = (at + 1) & (slots_.size() - 1)) {
            Slot& slot = slots_[at];
            if (slot.key == 0) {
                slot = {key, polygon};
                return polygon;
            }
            if (slot.key == key) return slot.polygon;
        }
    }

private:
    struct Slot {
        std::uint64_t key = 0;
        std::uint32_t polygon = 0;
    };
    std::vector<Slot> slots_;
};

std::uint32_t root_of(std::vector<std::uint32_t>& parents, std::uint32_t i) {
    while (parents[i] != i) i = parents[i] = parents[parents[i]];
    return i;
}

std::unique_ptr<OGRLinearRing> gdal_ring(const Ring& ring) {
    auto result = std::make_unique<OGRLinearRing>();
    result->setNumPoints(static_cast<int>(ring.size()), FALSE);
    for (std::size_t i = 0; i < ring.size(); ++i) result->setPoint(static_cast<int>(i), ring[i].x, ring[i].y);
    return result;
}

Ring plain_ring(const OGRLinearRing& ring) {
    Ring result(static_cast<std::size_t>(ring.getNumPoints()));
    for (std::size_t i = 0; i < result.size(); ++i)
        result[i] = {ring.getX(static_cast<int>(i)), ring.getY(static_cast<int>(i))};
    return result;
}

void append_parts(const OGRGeometry& geometry, MultiPolygon& ground) {
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (type == wkbPolygon) {
        const OGRPolygon& polygon = *geometry.toPolygon();
        if (polygon.IsEmpty()) return;
        Polygon part{.shell = plain_ring(*polygon.getExteriorRing()), .holes = {}};
        for (int i = 0; i < polygon.getNumInteriorRings(); ++i)
            part.holes.push_back(plain_ring(*polygon.getInteriorRing(i)));
        ground.push_back(std::move(part));
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* part : *geometry.toGeometryCollection()) append_parts(*part, ground);
    }
}

/// Polygons made one.
void append_union(const std::vector<const Polygon*>& cluster, MultiPolygon& ground) {
    OGRMultiPolygon parts;
    for (const Polygon* polygon : cluster) {
        auto part = std::make_unique<OGRPolygon>();
        part->addRingDirectly(gdal_ring(polygon->shell).release());
        for (const Ring& hole : polygon->holes) part->addRingDirectly(gdal_ring(hole).release());
        parts.addGeometryDirectly(part.release());
    }
    const std::unique_ptr<OGRGeometry> merged(parts.UnionCascaded());
    if (!merged) {
        throw Error({}, "GEOS could not join neighbouring polygons of one unit", "Repair the map's polygons and run again.");
    }
    append_parts(*merged, ground);
}

}  // namespace

MultiPolygon unit_ground(const std::vector<model::MapPolygon>& polygons, model::UnitIndex unit) {
    std::vector<const Polygon*> own;
    std::size_t edges = 0;
    for (const model::MapPolygon& candidate : polygons) {
        if (candidate.unit != unit) continue;
        own.push_back(&candidate.polygon);
        edges += candidate.polygon.shell.size();
        for (const Ring& hole : candidate.polygon.holes) edges += hole.size();
    }
    MultiPolygon ground;
    if (own.size() == 1) {
        ground.push_back(*own[0]);
        return ground;
    }
    std::vector<std::uint32_t> parents(own.size());
    std::iota(parents.begin(), parents.end(), 0U);
    EdgeOwners owners(edges);
    for (std::uint32_t i = 0; i < own.size(); ++i) {
        auto claim_ring = [&](const Ring& ring) {
            for (std::size_t k = 1; k < ring.size(); ++k) {
                const std::uint32_t other = owners.claim(ring[k - 1], ring[k], i);
                if (other == i) continue;
                const std::uint32_t a = root_of(parents, other), b = root_of(parents, i);
                parents[std::max(a, b)] = std::min(a, b);
            }
        };
        claim_ring(own[i]->shell);
        for (const Ring& hole : own[i]->holes) claim_ring(hole);
    }
    std::vector<std::vector<const Polygon*>> clusters(own.size());
    for (std::uint32_t i = 0; i < own.size(); ++i) clusters[root_of(parents, i)].push_back(own[i]);
    for (const std::vector<const Polygon*>& cluster : clusters) {
        if (cluster.size() == 1) ground.push_back(*cluster[0]);
        else if (!cluster.empty()) append_union(cluster, ground);
    }
    return ground;
}

}  // namespace subcrop::publish
