#include "subcrop/infer/blocks.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <utility>

namespace subcrop::infer {

Blocks divide_into_blocks(std::span<const Point> stops, double side_m, double min_side_m) {
    Box extent;
    for (const Point& stop : stops) extent.add(stop);
    Blocks blocks;
    // The longer side sets a minimum, so that a single traverse is still cut into a few dozen pieces.
    const double automatic = std::max(
        {std::sqrt(extent.width() * extent.height()) / 10, std::max(extent.width(), extent.height()) / 40, min_side_m});
    blocks.side_m = side_m > 0 ? side_m : std::max(automatic, 1.0);

    using Cell = std::pair<std::int64_t, std::int64_t>;
    std::vector<Cell> cells;
    cells.reserve(stops.size());
    std::map<Cell, std::size_t> counts;
    for (const Point& stop : stops) {
        cells.emplace_back(static_cast<std::int64_t>(std::floor((stop.x - extent.min_x) / blocks.side_m)),
                           static_cast<std::int64_t>(std::floor((stop.y - extent.min_y) / blocks.side_m)));
        ++counts[cells.back()];
    }
    const std::size_t most = stops.size() > 20000 ? 10 : 40;
    blocks.folds = static_cast<std::uint16_t>(std::min(most, counts.size()));

    // The fullest blocks first, each to the emptiest fold. So folds are even, for any order of the rows.
    std::vector<std::pair<std::size_t, Cell>> order;
    for (const auto& [cell, count] : counts) order.emplace_back(count, cell);
    std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
        return a.first != b.first ? a.first > b.first : a.second < b.second;
    });
    std::vector<std::size_t> held(blocks.folds, 0);
    std::map<Cell, std::uint16_t> fold_of_cell;
    for (const auto& [count, cell] : order) {
        const auto emptiest = std::min_element(held.begin(), held.end()) - held.begin();
        held[static_cast<std::size_t>(emptiest)] += count;
        fold_of_cell[cell] = static_cast<std::uint16_t>(emptiest);
    }
    for (const Cell& cell : cells) blocks.fold_of_stop.push_back(fold_of_cell.at(cell));
    return blocks;
}

}  // namespace subcrop::infer
