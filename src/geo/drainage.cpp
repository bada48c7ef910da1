#include "subcrop/geo/drainage.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <queue>
#include <utility>

#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {

namespace {

struct Neighbour {
    int column, row;
    double distance;  // in cells
};
constexpr std::array<Neighbour, 8> neighbours{{{1, 0, 1},
                                               {1, 1, std::numbers::sqrt2},
                                               {0, 1, 1},
                                               {-1, 1, std::numbers::sqrt2},
                                               {-1, 0, 1},
                                               {-1, -1, std::numbers::sqrt2},
                                               {0, -1, 1},
                                               {1, -1, std::numbers::sqrt2}}};
constexpr std::uint8_t no_direction = 8;

struct Waiting {
    float height;
    std::uint32_t cell;
    bool operator>(const Waiting& other) const {
        return height != other.height ? height > other.height
                                      : cell > other.cell;  // the order is the same on every machine
    }
};

/// Cells of a window averaged by `factor`; those outside the grid or void stay void.
HeightGrid averaged(const HeightGrid& grid, std::int64_t first_column, std::int64_t first_row, std::int64_t columns,
                    std::int64_t rows, std::int64_t factor) {
    const double cell = grid.cell_m();
    HeightGrid coarse(grid.west() + static_cast<double>(first_column) * cell,
                      grid.north() - static_cast<double>(first_row) * cell, cell * static_cast<double>(factor),
                      (columns + factor - 1) / factor, (rows + factor - 1) / factor);
    for (std::int64_t r = 0; r < coarse.rows(); ++r) {
        for (std::int64_t c = 0; c < coarse.columns(); ++c) {
            double sum = 0;
            int count = 0;
            for (std::int64_t j = 0; j < factor; ++j) {
                for (std::int64_t i = 0; i < factor; ++i) {
                    const std::int64_t column = c * factor + i, row = r * factor + j;
                    if (column >= columns || row >= rows) continue;
                    if (const auto h = grid.at(first_column + column, first_row + row)) {
                        sum += *h;
                        ++count;
                    }
                }
            }
            if (count > 0) coarse.set(c, r, sum / count);
        }
    }
    return coarse;
}

/// Follows the water from a place to a stream.
std::optional<WayToStream> follow(const HeightGrid& grid, const Drainage& water, Point place,
                                  const DrainageOptions& options) {
    auto column = static_cast<std::int64_t>(std::floor((place.x - grid.west()) / grid.cell_m()));
    auto row = static_cast<std::int64_t>(std::floor((grid.north() - place.y) / grid.cell_m()));
    const auto start = grid.at(column, row);
    if (!start) return std::nullopt;
    WayToStream way;
    way.area_m2 = water.area_m2(column, row);
    while (way.distance_m <= options.margin_m) {
        if (water.area_m2(column, row) >= options.stream_from_m2) {
            way.above_m = std::max(0.0, *start - *grid.at(column, row));
            return way;
        }
        const auto next = water.drains_to(column, row);
        if (!next) return std::nullopt;
        const auto next_column = static_cast<std::int64_t>(*next) % grid.columns();
        const auto next_row = static_cast<std::int64_t>(*next) / grid.columns();
        way.distance_m += grid.cell_m() * (next_column != column && next_row != row ? std::numbers::sqrt2 : 1.0);
        column = next_column;
        row = next_row;
    }
    return std::nullopt;
}

}  // namespace

Drainage::Drainage(const HeightGrid& heights) : filled_(heights) {
    const std::int64_t columns = heights.columns(), rows = heights.rows();
    const auto cells = static_cast<std::size_t>(columns * rows);
    direction_.assign(cells, no_direction);
    area_m2_.assign(cells, 0.0);
    std::vector<std::uint8_t> seen(cells, 0);
    std::priority_queue<Waiting, std::vector<Waiting>, std::greater<>> open;
    for (std::int64_t row = 0; row < rows; ++row) {
        for (std::int64_t column = 0; column < columns; ++column) {
            if (!heights.known(column, row)) continue;
            const bool edge = std::any_of(neighbours.begin(), neighbours.end(), [&](const Neighbour& n) {
                return !heights.known(column + n.column, row + n.row);
            });
            if (!edge) continue;
            const auto cell = static_cast<std::uint32_t>(row * columns + column);
            seen[cell] = 1;
            open.push({static_cast<float>(*heights.at(column, row)), cell});
        }
    }
    // Inside a hollow the water's level is known without the queue's ordering: a plain queue is quicker.
    std::queue<Waiting> hollow;
    std::vector<std::uint32_t> rising;  // cells in the order in which the flood reached them
    rising.reserve(cells);
    while (!open.empty() || !hollow.empty()) {
        // The least step of the flood may climb past what waits outside: that comes first.
        const bool inside = !hollow.empty() && (open.empty() || !(hollow.front() > open.top()));
        const Waiting here = inside ? hollow.front() : open.top();
        inside ? hollow.pop() : open.pop();
        rising.push_back(here.cell);
        const auto column = static_cast<std::int64_t>(here.cell) % columns,
                   row = static_cast<std::int64_t>(here.cell) / columns;
        const float step_up = std::nextafter(here.height, std::numeric_limits<float>::infinity());
        for (const Neighbour& n : neighbours) {
            const std::int64_t c = column + n.column, r = row + n.row;
            if (!heights.known(c, r)) continue;
            const auto cell = static_cast<std::uint32_t>(r * columns + c);
            if (seen[cell]) continue;
            seen[cell] = 1;
            const auto own = static_cast<float>(*heights.at(c, r));
            if (own <= step_up) {
                filled_.set(c, r, static_cast<double>(step_up));
                hollow.push({step_up, cell});
            } else {
                open.push({own, cell});
            }
        }
    }
    for (const std::uint32_t cell : rising) {
        const auto column = static_cast<std::int64_t>(cell) % columns, row = static_cast<std::int64_t>(cell) / columns;
        const double own = *filled_.at(column, row);
        double steepest = 0;
        for (std::size_t k = 0; k < neighbours.size(); ++k) {
            const auto other = filled_.at(column + neighbours[k].column, row + neighbours[k].row);
            if (!other) continue;
            const double drop = (own - *other) / neighbours[k].distance;
            if (drop > steepest) {
                steepest = drop;
                direction_[cell] = static_cast<std::uint8_t>(k);
            }
        }
    }
    const double cell_area = heights.cell_m() * heights.cell_m();
    // From the highest down, so that each cell's own area is whole before it is handed on.
    std::stable_sort(rising.begin(), rising.end(), [&](std::uint32_t a, std::uint32_t b) {
        return *filled_.at(a % columns, a / columns) > *filled_.at(b % columns, b / columns);
    });
    for (const std::uint32_t cell : rising) {
        area_m2_[cell] += cell_area;
        const auto to = drains_to(cell % columns, cell / columns);
        if (to) area_m2_[*to] += area_m2_[cell];
    }
}

std::optional<std::size_t> Drainage::drains_to(std::int64_t column, std::int64_t row) const {
    const std::uint8_t direction = direction_[static_cast<std::size_t>(row * filled_.columns() + column)];
    if (direction == no_direction) return std::nullopt;
    return static_cast<std::size_t>((row + neighbours[direction].row) * filled_.columns() + column +
                                    neighbours[direction].column);
}

std::vector<std::optional<WayToStream>> ways_to_stream(const Terrain& terrain, std::span<const Point> places,
                                                       const DrainageOptions& options, unsigned threads) {
    const HeightGrid& grid = terrain.grid();
    std::vector<std::optional<WayToStream>> ways(places.size());
    if (grid.empty()) return ways;
    const auto factor =
        std::max<std::int64_t>(1, static_cast<std::int64_t>(std::ceil(options.min_cell_m / grid.cell_m() - 1e-9)));
    const std::int64_t side = options.tile_cells * factor;
    const bool whole = grid.columns() <= 2 * side && grid.rows() <= 2 * side;
    auto margin = static_cast<std::int64_t>(std::ceil(options.margin_m / grid.cell_m()));
    margin = (margin + factor - 1) / factor * factor;

    std::map<std::pair<std::int64_t, std::int64_t>, std::vector<std::size_t>> places_of_tile;
    for (std::size_t i = 0; i < places.size(); ++i) {
        const double x = (places[i].x - grid.west()) / grid.cell_m(), y = (grid.north() - places[i].y) / grid.cell_m();
        if (!(x >= 0 && y >= 0 && x < static_cast<double>(grid.columns()) && y < static_cast<double>(grid.rows())))
            continue;
        places_of_tile[whole ? std::pair<std::int64_t, std::int64_t>{0, 0}
                             : std::pair{static_cast<std::int64_t>(y) / side, static_cast<std::int64_t>(x) / side}]
            .push_back(i);
    }
    std::vector<std::pair<std::pair<std::int64_t, std::int64_t>, std::vector<std::size_t>>> tiles(
        places_of_tile.begin(), places_of_tile.end());
    parallel_blocks(tiles.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t t = begin; t < end; ++t) {
            const auto [tile_row, tile_column] = tiles[t].first;
            const std::int64_t west = whole ? 0 : std::max<std::int64_t>(0, tile_column * side - margin);
            const std::int64_t north = whole ? 0 : std::max<std::int64_t>(0, tile_row * side - margin);
            const std::int64_t east =
                whole ? grid.columns() : std::min(grid.columns(), (tile_column + 1) * side + margin);
            const std::int64_t south = whole ? grid.rows() : std::min(grid.rows(), (tile_row + 1) * side + margin);
            const HeightGrid window = averaged(grid, west, north, east - west, south - north, factor);
            const Drainage water(window);
            for (const std::size_t i : tiles[t].second) ways[i] = follow(window, water, places[i], options);
        }
    });
    return ways;
}

}  // namespace subcrop::geo
