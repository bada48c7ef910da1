// The area of each unit as one geometry: polygons that share an edge are joined.
//
//     const UnitAreas grounds(map);
//     MultiPolygon parts = grounds.of(unit);  // they meet one another in points at most
//
// The map stores every edge once, with the polygons on both sides; T-junctions are resolved. The boundary of a unit is
// what remains when the edges inside it are removed, so nothing must be intersected. Overlapping polygons, and those
// connected with them, are joined by GEOS instead. Cost: tests/bench.
#pragma once

#include <cstdint>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

class UnitAreas {
public:
    /// `map` must outlive this and stay where it is.
    explicit UnitAreas(const UnitMap& map);

    /// Empty if the unit has no polygon. In polygons joined here shells run anticlockwise, holes clockwise. Safe from
    /// many threads. Throws Error if polygons overlap and GEOS cannot join them.
    MultiPolygon of(model::UnitIndex unit) const;

private:
    void find_clusters();
    void sort_boundary_edges();

    const UnitMap* map_;
    std::vector<std::vector<std::uint32_t>> polygons_of_unit_;  ///< map order
    // A cluster is a set of polygons connected by shared edges, named by its first polygon.
    std::vector<std::uint32_t> cluster_;       ///< of each polygon
    std::vector<std::uint32_t> cluster_size_;  ///< in polygons, by the cluster's name
    std::vector<std::uint8_t> overlapping_;    ///< one a cluster's name: some of its polygons overlap others
    std::vector<std::uint32_t> starts_;        ///< by the cluster's name, into edges_
    std::vector<std::uint32_t> edges_;         ///< those on the boundary of clusters that are joined here
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
