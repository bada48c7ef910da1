// Which polygons lie over a place. Each cell of the grid knows those over its south-west corner; from there to the
// place (north along the cell's west border, then east) every edge crossed toggles the polygons to its sides. Each
// polygon's parity is independent, so the answer is right for any set of valid polygons, overlapping or not.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "geo/cover_set.hpp"
#include "geo/edge_grid.hpp"
#include "geo/edge_table.hpp"
#include "geo/orientation.hpp"

namespace subcrop::geo {

class Coverage {
public:
    Coverage() = default;
    /// `table` must outlive this and stay where it is.
    Coverage(const EdgeTable& table, double tolerance, unsigned threads);

    const EdgeGrid& grid() const { return grid_; }
    const std::vector<Edge>& edges() const { return table_->edges(); }

    /// Polygons over a place; one on an edge counts as a little to the north and east of it.
    void cover(Point place, CoverSet& found) const;
    /// Adds the polygons whose boundary passes within the tolerance; true where there is one.
    bool touching(Point place, std::vector<PolygonIndex>& found) const;
    /// True where a boundary passes within the tolerance.
    bool on_edge(Point place) const;

private:
    void find_corners(unsigned threads);

    const EdgeTable* table_ = nullptr;
    double squared_tolerance_ = 0;
    EdgeGrid grid_;
    std::vector<std::uint32_t> corners_;  // polygon, none, or `several_bit` with an index into several_
    std::vector<std::vector<PolygonIndex>> several_;
};

}  // namespace subcrop::geo
