// The map's polygons, kept as the edges along their rings: 53 MB instead of 213 for 100,000 polygons. Rings come back
// to the last bit; one that its edges do not give back, having repeated points or been cut at T-junctions, is kept as
// it was.
#pragma once

#include <cstdint>
#include <span>
#include <unordered_map>
#include <vector>

#include "geo/edge_table.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::geo {

class PolygonStore {
public:
    PolygonStore() = default;
    /// `polygons`: those that the table was made of. Takes `table`'s uses over.
    PolygonStore(std::vector<model::MapPolygon> polygons, EdgeTable& table, unsigned threads);

    std::size_t size() const { return units_.size(); }
    model::UnitIndex unit(PolygonIndex polygon) const { return units_[polygon]; }
    std::int64_t row(PolygonIndex polygon) const { return rows_[polygon]; }
    /// Calls `visit(polygon, ring number, its uses)` for every ring in map order, shells before holes.
    template <class Visit>
    void for_each_ring(Visit&& visit) const {
        for (PolygonIndex polygon = 0; polygon < size(); ++polygon) {
            for (std::size_t r = first_ring_[polygon]; r < first_ring_[polygon + 1]; ++r)
                visit(polygon, r,
                      std::span<const EdgeIndex>(uses_.data() + first_use_[r], uses_.data() + first_use_[r + 1]));
        }
    }
    /// `table` is the one this was made with.
    Polygon polygon(PolygonIndex polygon, const EdgeTable& table) const;

private:
    Ring ring(std::size_t number, PolygonIndex polygon, const EdgeTable& table) const;

    std::vector<model::UnitIndex> units_;
    std::vector<std::int64_t> rows_;
    std::vector<std::uint32_t> first_ring_;        ///< of each polygon, and the end; shells before holes
    std::vector<std::uint32_t> first_use_;         ///< of each ring, and the end
    std::vector<EdgeIndex> uses_;                  ///< the edge of each side
    std::unordered_map<std::size_t, Ring> whole_;  ///< rings kept as they were
};

}  // namespace subcrop::geo
