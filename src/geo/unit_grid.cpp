#include "subcrop/geo/unit_grid.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <utility>

#include "geo/ring_linker.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {

namespace {

constexpr int smoothing_passes = 6;
constexpr double max_moved = 0.45;  // of a cell
constexpr std::uint32_t outside = std::numeric_limits<std::uint32_t>::max();

/// Cells numbered by their connected piece.
struct Pieces {
    std::vector<std::uint32_t> of_cell;
    std::vector<model::UnitIndex> units;  ///< one a piece
};

Pieces find_pieces(const UnitGrid& grid) {
    Pieces pieces;
    pieces.of_cell.assign(grid.units.size(), outside);
    std::vector<std::size_t> open;
    for (std::size_t first = 0; first < grid.units.size(); ++first) {
        if (grid.units[first] == model::no_unit || pieces.of_cell[first] != outside) continue;
        const auto number = static_cast<std::uint32_t>(pieces.units.size());
        pieces.units.push_back(grid.units[first]);
        pieces.of_cell[first] = number;
        open.push_back(first);
        while (!open.empty()) {
            const std::size_t cell = open.back(), column = cell % grid.columns;
            open.pop_back();
            auto visit = [&](bool there, std::size_t next) {
                if (!there || grid.units[next] != grid.units[first] || pieces.of_cell[next] != outside) return;
                pieces.of_cell[next] = number;
                open.push_back(next);
            };
            visit(column > 0, cell - 1);
            visit(column + 1 < grid.columns, cell + 1);
            visit(cell >= grid.columns, cell - grid.columns);
            visit(cell + grid.columns < grid.units.size(), cell + grid.columns);
        }
    }
    return pieces;
}

/// The corners of the cells, with the edges that part two pieces. Directions: 0 east, 1 north, 2 west, 3 south.
class Corners {
public:
    Corners(const UnitGrid& grid, const Pieces& pieces) : grid_(grid), pieces_(pieces), columns_(grid.columns + 1) {}

    std::size_t count() const { return columns_ * (grid_.rows + 1); }
    std::size_t column(std::size_t corner) const { return corner % columns_; }
    std::size_t row(std::size_t corner) const { return corner / columns_; }
    Point place(std::size_t corner) const {
        return {grid_.origin.x + grid_.cell_m * static_cast<double>(column(corner)),
                grid_.origin.y + grid_.cell_m * static_cast<double>(row(corner))};
    }
    bool inside(std::size_t corner, int direction) const {
        switch (direction) {
            case 0:
                return column(corner) < grid_.columns;
            case 1:
                return row(corner) < grid_.rows;
            case 2:
                return column(corner) > 0;
            default:
                return row(corner) > 0;
        }
    }
    std::size_t next(std::size_t corner, int direction) const {
        switch (direction) {
            case 0:
                return corner + 1;
            case 1:
                return corner + columns_;
            case 2:
                return corner - 1;
            default:
                return corner - columns_;
        }
    }
    /// Pieces to the left and right of the edge.
    std::pair<std::uint32_t, std::uint32_t> sides(std::size_t corner, int direction) const {
        const auto c = static_cast<std::int64_t>(column(corner)), r = static_cast<std::int64_t>(row(corner));
        const std::uint32_t ne = piece(c, r), nw = piece(c - 1, r), sw = piece(c - 1, r - 1), se = piece(c, r - 1);
        switch (direction) {
            case 0:
                return {ne, se};
            case 1:
                return {nw, ne};
            case 2:
                return {sw, nw};
            default:
                return {se, sw};
        }
    }
    bool parts(std::size_t corner, int direction) const {
        if (!inside(corner, direction)) return false;
        const auto [left, right] = sides(corner, direction);
        return left != right;
    }
    int degree(std::size_t corner) const {
        int sum = 0;
        for (int d = 0; d < 4; ++d) sum += parts(corner, d);
        return sum;
    }

private:
    std::uint32_t piece(std::int64_t column, std::int64_t row) const {
        if (column < 0 || row < 0 || column >= static_cast<std::int64_t>(grid_.columns) ||
            row >= static_cast<std::int64_t>(grid_.rows))
            return outside;
        return pieces_.of_cell[static_cast<std::size_t>(row) * grid_.columns + static_cast<std::size_t>(column)];
    }
    const UnitGrid& grid_;
    const Pieces& pieces_;
    std::size_t columns_;
};

/// Ends stay; of a closed line (first and last the same place) all may move.
void smooth(Line& line, double most) {
    const bool closed = line.front() == line.back();
    const Line drawn = line;
    Line before;
    for (int pass = 0; pass < smoothing_passes; ++pass) {
        before = line;
        for (std::size_t i = closed ? 0 : 1; i + 1 < line.size(); ++i) {
            const Point a = before[i == 0 ? line.size() - 2 : i - 1], b = before[i], c = before[i + 1];
            Point p{(a.x + 2 * b.x + c.x) / 4, (a.y + 2 * b.y + c.y) / 4};
            const double off = distance(p, drawn[i]);
            if (off > most)
                p = {drawn[i].x + (p.x - drawn[i].x) * most / off, drawn[i].y + (p.y - drawn[i].y) * most / off};
            line[i] = p;
        }
        if (closed) line.back() = line.front();
    }
}

std::optional<std::vector<model::MapPolygon>> polygons_of(const UnitGrid& grid, const Pieces& pieces, bool smoothed) {
    const Corners corners(grid, pieces);
    std::vector<std::array<std::uint8_t, 4>> walked(corners.count(), std::array<std::uint8_t, 4>{});
    std::vector<std::vector<DirectedEdge>> edges(pieces.units.size());
    auto walk = [&](std::size_t from, int direction) {
        const auto [left, right] = corners.sides(from, direction);
        Line line{corners.place(from)};
        std::size_t at = from;
        for (;;) {
            walked[at][static_cast<std::size_t>(direction)] = 1;
            at = corners.next(at, direction);
            const int back = (direction + 2) % 4;
            walked[at][static_cast<std::size_t>(back)] = 1;
            line.push_back(corners.place(at));
            if (at == from || corners.degree(at) != 2) break;
            for (int d = 0; d < 4; ++d) {
                if (d == back || !corners.parts(at, d)) continue;
                direction = d;
                break;
            }
        }
        if (smoothed) smooth(line, max_moved * grid.cell_m);
        for (std::size_t i = 1; i < line.size(); ++i) {
            if (left != outside) edges[left].push_back({line[i - 1], line[i]});
            if (right != outside) edges[right].push_back({line[i], line[i - 1]});
        }
    };
    for (const bool nodes : {true, false}) {  // first from where lines meet; what is left closes on itself
        for (std::size_t corner = 0; corner < corners.count(); ++corner) {
            const int degree = corners.degree(corner);
            if (degree == 0 || (nodes && degree == 2)) continue;
            for (int d = 0; d < 4; ++d)
                if (corners.parts(corner, d) && !walked[corner][static_cast<std::size_t>(d)]) walk(corner, d);
        }
    }
    std::vector<model::MapPolygon> result;
    for (std::size_t i = 0; i < pieces.units.size(); ++i) {
        std::optional<Polygon> polygon = link_rings(edges[i]);
        if (!polygon || !is_valid(*polygon)) return std::nullopt;
        result.push_back({pieces.units[i], static_cast<std::int64_t>(i) + 1, std::move(*polygon)});
    }
    return result;
}

}  // namespace

std::vector<model::MapPolygon> grid_polygons(const UnitGrid& grid) {
    assert(grid.units.size() == grid.columns * grid.rows && grid.cell_m > 0);
    const Pieces pieces = find_pieces(grid);
    // Smoothed lines do not touch, except in unusual shapes. Then all lines stay as the cells have them.
    if (auto result = polygons_of(grid, pieces, true)) return *result;
    auto plain = polygons_of(grid, pieces, false);
    return plain ? std::move(*plain) : std::vector<model::MapPolygon>{};
}

}  // namespace subcrop::geo
