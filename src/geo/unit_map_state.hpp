// What a UnitMap holds.
#pragma once

#include <cstdint>
#include <vector>

#include "geo/coverage.hpp"
#include "geo/edge_table.hpp"
#include "geo/nearest_edge.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::geo {

struct UnitMap::State {
    std::vector<model::MapPolygon> polygons;
    std::size_t unit_count = 0;
    UnitMapOptions options;
    EdgeTable table;
    Coverage coverage;
    std::vector<Contact> contacts;
    std::vector<std::uint32_t> contact_of_edge;
    NearestEdgeSearch contact_search;
    NearestEdgeSearch divide_search;
    std::vector<double> unit_areas;

    /// The unit may change across this edge, or the map ends there.
    bool divides(EdgeIndex index) const {
        const Edge& edge = table.edges()[index];
        return edge.open() || table.crowded(index) || polygons[edge.left].unit != polygons[edge.right].unit;
    }
    model::UnitIndex unit_of(const CoverSet& cover) const {
        const PolygonIndex polygon = cover.first();
        return polygon == none ? model::no_unit : polygons[polygon].unit;
    }
};

}  // namespace subcrop::geo
