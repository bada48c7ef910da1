// What a UnitMap holds.
#pragma once

#include <cstdint>
#include <vector>

#include "geo/coverage.hpp"
#include "geo/edge_table.hpp"
#include "geo/nearest_edge.hpp"
#include "geo/polygon_store.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::geo {

struct UnitMap::State {
    PolygonStore polygons;
    std::size_t unit_count = 0;
    UnitMapOptions options;
    EdgeTable table;
    Coverage coverage;
    std::vector<Contact> contacts;
    std::vector<std::uint32_t> contact_of_edge;
    NearestEdgeSearch contact_search;
    NearestEdgeSearch divide_search;
    std::vector<double> unit_areas;
    std::vector<std::uint8_t> divides;      // one an edge: the unit may change across it, or the map ends there
    std::vector<std::uint8_t> overlapping;  // one a polygon: it may overlap another

    model::UnitIndex unit_of(const CoverSet& cover) const {
        const PolygonIndex polygon = cover.first();
        return polygon == none ? model::no_unit : polygons.unit(polygon);
    }
};

}  // namespace subcrop::geo
