// The nearest edge of one kind, found through the grid: for each cell a byte tells how many cells away (king's moves)
// the next cell with such an edge is, so that a search starts with a good bound and skips empty cells.
#pragma once

#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "geo/edge_grid.hpp"

namespace subcrop::geo {

struct NearestEdge {
    EdgeIndex edge = none;
    Foot foot;
};

class NearestEdgeSearch {
public:
    NearestEdgeSearch() = default;
    /// `wanted(edge)` marks the kind. The grid must outlive this.
    template <class Wanted>
    NearestEdgeSearch(const EdgeGrid& grid, Wanted&& wanted) {
        away_.assign(grid.cell_count(), farthest);
        for (std::size_t cell = 0; cell < away_.size(); ++cell) {
            for (const EdgeIndex i : grid.cell(cell)) {
                if (!wanted(i)) continue;
                away_[cell] = 0;
                break;
            }
        }
        spread(grid);
    }

    /// Nearest edge for which `wanted` holds (the same as when this was built), not farther than `reach`. Of several
    /// equally near, the one with the lowest `rank`.
    template <class Wanted, class Rank>
    std::optional<NearestEdge> find(const EdgeGrid& grid, const std::vector<Edge>& edges, Point place, double reach,
                                    Wanted&& wanted, Rank&& rank) const {
        if (away_.empty() || !(reach >= 0)) return std::nullopt;
        const int home_column = grid.column(place.x), home_row = grid.row(place.y);
        const double side = grid.side();
        double bound = reach;
        const std::uint8_t home = away_[grid.number(home_column, home_row)];
        if (home < farthest && grid.covers(place)) {
            // An edge comes within the grid's reach of a cell that many away.
            bound = std::min(bound, std::sqrt(2.0) * (home + 1) * side + 2 * grid.reach());
        }
        double best = bound * bound;
        NearestEdge nearest;
        const auto look_in = [&](std::size_t cell) {
            for (const EdgeIndex i : grid.cell(cell)) {
                if (!wanted(i)) continue;
                const Foot foot = foot_on(edges[i].a, edges[i].b, place);
                if (foot.squared_distance > best) continue;
                if (foot.squared_distance == best && nearest.edge != none && rank(i) >= rank(nearest.edge)) continue;
                best = foot.squared_distance;
                nearest = {i, foot};
            }
        };
        // Both directions from home, a row or a column at a time, until it starts beyond the best so far.
        const auto gap = [side](double low, double x) { return std::max({low - x, x - low - side, 0.0}); };
        const auto scan_row = [&](int row) {
            const double dy = gap(grid.y_of(row), place.y);
            if (dy * dy > best) return false;
            for (const int direction : {1, -1}) {
                for (int column = direction > 0 ? home_column : home_column - 1;
                     column >= 0 && column < grid.columns();) {
                    const double dx = gap(grid.x_of(column), place.x);
                    if (dx * dx + dy * dy > best) break;
                    const std::size_t cell = grid.number(column, row);
                    const int away = away_[cell];
                    if (away == 0) look_in(cell);
                    column += direction * std::max(away, 1);
                }
            }
            return true;
        };
        for (int row = home_row; row < grid.rows() && scan_row(row); ++row) {
        }
        for (int row = home_row - 1; row >= 0 && scan_row(row); --row) {
        }
        if (nearest.edge == none) return std::nullopt;
        return nearest;
    }

private:
    static constexpr std::uint8_t farthest = 255;
    void spread(const EdgeGrid& grid);

    std::vector<std::uint8_t> away_;
};

}  // namespace subcrop::geo
