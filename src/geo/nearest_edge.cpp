#include "geo/nearest_edge.hpp"

namespace subcrop::geo {

// Two sweeps give exact king's-move distances.
void NearestEdgeSearch::spread(const EdgeGrid& grid) {
    const int columns = grid.columns(), rows = grid.rows();
    const auto lower = [&](std::size_t cell, int column, int row) {
        if (column < 0 || column >= columns || row < 0 || row >= rows) return;
        const std::uint8_t next = away_[grid.number(column, row)];
        if (next < farthest && next + 1 < away_[cell]) away_[cell] = static_cast<std::uint8_t>(next + 1);
    };
    for (int row = 0; row < rows; ++row) {
        for (int column = 0; column < columns; ++column) {
            const std::size_t cell = grid.number(column, row);
            lower(cell, column - 1, row);
            for (int i = column - 1; i <= column + 1; ++i) lower(cell, i, row - 1);
        }
    }
    for (int row = rows; row-- > 0;) {
        for (int column = columns; column-- > 0;) {
            const std::size_t cell = grid.number(column, row);
            lower(cell, column + 1, row);
            for (int i = column - 1; i <= column + 1; ++i) lower(cell, i, row + 1);
        }
    }
}

}  // namespace subcrop::geo
