#include "subcrop/geo/unit_areas.hpp"

#include <algorithm>
#include <cassert>
#include <iterator>
#include <map>
#include <numeric>
#include <utility>

#include "geo/geos_handle.hpp"
#include "geo/ring_linker.hpp"
#include "geo/unit_map_state.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::geo {
namespace {

std::uint32_t root_of(std::vector<std::uint32_t>& parents, std::uint32_t i) {
    while (parents[i] != i) i = parents[i] = parents[parents[i]];
    return i;
}

void join(std::vector<std::uint32_t>& parents, std::uint32_t i, std::uint32_t k) {
    const std::uint32_t a = root_of(parents, i), b = root_of(parents, k);
    parents[std::max(a, b)] = std::min(a, b);
}

GEOSGeometry* geos_ring(const GeosContext& context, const Ring& ring) {
    return GEOSGeom_createLinearRing_r(
        context.get(),
        GEOSCoordSeq_copyFromBuffer_r(context.get(), &ring[0].x, static_cast<unsigned>(ring.size()), 0, 0));
}

Ring plain_ring(const GeosContext& context, const GEOSGeometry* ring) {
    const GEOSCoordSequence* sequence = GEOSGeom_getCoordSeq_r(context.get(), ring);
    unsigned size = 0;
    GEOSCoordSeq_getSize_r(context.get(), sequence, &size);
    Ring result(size);
    if (size > 0) GEOSCoordSeq_copyToBuffer_r(context.get(), sequence, &result[0].x, 0, 0);
    return result;
}

void append_parts(const GeosContext& context, const GEOSGeometry* geometry, MultiPolygon& ground) {
    if (GEOSisEmpty_r(context.get(), geometry) != 0) return;
    const int type = GEOSGeomTypeId_r(context.get(), geometry);
    if (type == GEOS_POLYGON) {
        Polygon part{.shell = plain_ring(context, GEOSGetExteriorRing_r(context.get(), geometry)), .holes = {}};
        for (int i = 0; i < GEOSGetNumInteriorRings_r(context.get(), geometry); ++i) {
            part.holes.push_back(plain_ring(context, GEOSGetInteriorRingN_r(context.get(), geometry, i)));
        }
        ground.push_back(std::move(part));
    } else if (type == GEOS_MULTIPOLYGON || type == GEOS_GEOMETRYCOLLECTION) {
        for (int i = 0; i < GEOSGetNumGeometries_r(context.get(), geometry); ++i) {
            append_parts(context, GEOSGetGeometryN_r(context.get(), geometry, i), ground);
        }
    }
}

void append_geos_union(const std::vector<Polygon>& polygons, MultiPolygon& ground) {
    const GeosContext context;
    std::vector<GEOSGeometry*> parts;
    for (const Polygon& polygon : polygons) {
        std::vector<GEOSGeometry*> holes;
        for (const Ring& hole : polygon.holes) holes.push_back(geos_ring(context, hole));
        parts.push_back(GEOSGeom_createPolygon_r(context.get(), geos_ring(context, polygon.shell), holes.data(),
                                                 static_cast<unsigned>(holes.size())));
    }
    const GeosGeometry all = owned(context, GEOSGeom_createCollection_r(context.get(), GEOS_MULTIPOLYGON, parts.data(),
                                                                        static_cast<unsigned>(parts.size())));
    const GeosGeometry merged = owned(context, all ? GEOSUnaryUnion_r(context.get(), all.get()) : nullptr);
    if (!merged) {
        throw Error({}, "GEOS could not join overlapping polygons of one unit: " + context.error(),
                    "Repair the map's polygons and run again.");
    }
    append_parts(context, merged.get(), ground);
}

}  // namespace

UnitAreas::UnitAreas(const UnitMap& map) : map_(&map) {
    find_clusters();
    sort_boundary_edges();
}

void UnitAreas::find_clusters() {
    const UnitMap::State& s = *map_->state_;
    const auto count = static_cast<PolygonIndex>(s.polygons.size());
    cluster_.resize(count);
    std::iota(cluster_.begin(), cluster_.end(), 0U);
    std::vector<std::uint8_t> overlapping = s.overlapping;
    const std::vector<Edge>& edges = s.table.edges();
    for (EdgeIndex i = 0; i < edges.size(); ++i) {
        const Edge& edge = edges[i];
        if (edge.dead()) continue;
        if (s.table.crowded(i)) {
            if (edge.left != none) overlapping[edge.left] = 1;
            if (edge.right != none) overlapping[edge.right] = 1;
        }
        if (!edge.open() && s.polygons.unit(edge.left) == s.polygons.unit(edge.right))
            join(cluster_, edge.left, edge.right);
    }
    // Which polygon overlaps which is not known: all such of a unit go to GEOS together.
    polygons_of_unit_.resize(s.unit_count);
    std::vector<PolygonIndex> first_overlapping(s.unit_count, none);
    for (PolygonIndex i = 0; i < count; ++i) {
        if (s.polygons.unit(i) == model::no_unit) continue;
        const auto unit = static_cast<std::size_t>(s.polygons.unit(i));
        polygons_of_unit_[unit].push_back(i);
        if (!overlapping[i]) continue;
        if (first_overlapping[unit] == none) first_overlapping[unit] = i;
        join(cluster_, first_overlapping[unit], i);
    }
    cluster_size_.assign(count, 0);
    overlapping_.assign(count, 0);
    for (PolygonIndex i = 0; i < count; ++i) {
        cluster_[i] = root_of(cluster_, i);
        ++cluster_size_[cluster_[i]];
        overlapping_[cluster_[i]] |= overlapping[i];
    }
}

void UnitAreas::sort_boundary_edges() {
    const UnitMap::State& s = *map_->state_;
    const std::vector<Edge>& edges = s.table.edges();
    starts_.assign(s.polygons.size() + 1, 0);
    const auto for_each_side = [&](auto&& visit) {
        for (EdgeIndex i = 0; i < edges.size(); ++i) {
            const Edge& edge = edges[i];
            if (edge.dead() || !s.divides[i]) continue;
            for (const PolygonIndex polygon : {edge.left, edge.right}) {
                if (polygon == none || cluster_size_[cluster_[polygon]] < 2 || overlapping_[cluster_[polygon]])
                    continue;
                visit(cluster_[polygon], i);
            }
        }
    };
    for_each_side([&](std::uint32_t cluster, EdgeIndex) { ++starts_[cluster + 1]; });
    for (std::size_t i = 1; i < starts_.size(); ++i) starts_[i] += starts_[i - 1];
    edges_.resize(starts_.back());
    std::vector<std::uint32_t> filled(starts_.begin(), starts_.end() - 1);
    for_each_side([&](std::uint32_t cluster, EdgeIndex edge) { edges_[filled[cluster]++] = edge; });
}

MultiPolygon UnitAreas::of(model::UnitIndex unit) const {
    assert(unit != model::no_unit && static_cast<std::size_t>(unit) < polygons_of_unit_.size());
    const UnitMap::State& s = *map_->state_;
    MultiPolygon ground;
    std::map<PolygonIndex, std::vector<Polygon>> for_geos;
    std::vector<PolygonIndex> unlinked;
    std::vector<DirectedEdge> boundary;
    const auto& own = polygons_of_unit_[static_cast<std::size_t>(unit)];
    for (const PolygonIndex i : own) {
        const PolygonIndex cluster = cluster_[i];
        if (cluster_size_[cluster] == 1) {
            ground.push_back(s.polygons.polygon(i, s.table));
        } else if (overlapping_[cluster]) {
            for_geos[cluster].push_back(s.polygons.polygon(i, s.table));
        } else if (i == cluster) {
            boundary.clear();
            for (std::uint32_t k = starts_[cluster]; k < starts_[cluster + 1]; ++k) {
                const Edge& edge = s.table.edges()[edges_[k]];
                const bool left = edge.left != none && cluster_[edge.left] == cluster;
                boundary.push_back(left ? DirectedEdge{edge.a, edge.b} : DirectedEdge{edge.b, edge.a});
            }
            if (auto joined = link_rings(boundary))
                ground.push_back(std::move(*joined));
            else
                unlinked.push_back(cluster);
        }
    }
    for (const PolygonIndex cluster : unlinked) {  // polygons too thin for the tolerance may do this
        for (const PolygonIndex i : own) {
            if (cluster_[i] == cluster) for_geos[cluster].push_back(s.polygons.polygon(i, s.table));
        }
    }
    for (const auto& [cluster, polygons] : for_geos) append_geos_union(polygons, ground);
    return ground;
}

}  // namespace subcrop::geo
