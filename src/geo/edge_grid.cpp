#include "geo/edge_grid.hpp"

#include <cassert>

namespace subcrop::geo {

template <class Visit>
void EdgeGrid::for_each_cell(const Edge& edge, Visit&& visit) const {
    const int first_column = column(edge.a.x - reach_), last_column = column(edge.b.x + reach_);
    const double low = std::min(edge.a.y, edge.b.y), high = std::max(edge.a.y, edge.b.y);
    const int first_row = row(low - reach_), last_row = row(high + reach_);
    if (first_column == last_column || first_row == last_row ||
        (last_column - first_column) * (last_row - first_row) == 1) {
        for (int j = first_row; j <= last_row; ++j) {
            for (int i = first_column; i <= last_column; ++i) visit(number(i, j));
        }
        return;
    }
    // A long edge: in each row only the columns it runs through.
    const double slope = (edge.b.x - edge.a.x) / (edge.b.y - edge.a.y);
    for (int j = first_row; j <= last_row; ++j) {
        const double south = std::clamp(y_of(j) - reach_, low, high);
        const double north = std::clamp(y_of(j + 1) + reach_, low, high);
        double west = edge.a.x + (south - edge.a.y) * slope;
        double east = edge.a.x + (north - edge.a.y) * slope;
        if (low == high) {
            west = edge.a.x;
            east = edge.b.x;
        }
        if (west > east) std::swap(west, east);
        // Rounding in the slope grows with the length of the edge, never beyond the reach of a cell here.
        const int from = column(std::max(west, edge.a.x) - 2 * reach_),
                  to = column(std::min(east, edge.b.x) + 2 * reach_);
        for (int i = from; i <= to; ++i) visit(number(i, j));
    }
}

EdgeGrid::EdgeGrid(const std::vector<Edge>& edges, const Box& extent, std::size_t cells_wanted, double reach) {
    if (edges.empty() || extent.empty()) {
        starts_.assign(1, 0);
        return;
    }
    constexpr std::size_t max_cells = std::size_t{1} << 26;
    const auto wanted = static_cast<double>(std::clamp<std::size_t>(cells_wanted, 16, max_cells));
    const double longest = std::max(extent.width(), extent.height());
    side_ =
        std::sqrt(std::max(extent.width(), longest / wanted) * std::max(extent.height(), longest / wanted) / wanted);
    if (!(side_ > 0)) side_ = 1;
    const double largest = std::max(
        {std::abs(extent.min_x), std::abs(extent.max_x), std::abs(extent.min_y), std::abs(extent.max_y), side_});
    reach_ = reach + 1e-7 * side_ + 16 * std::numeric_limits<double>::epsilon() * largest;
    side_ = std::max(side_, 8 * reach_);
    inverse_side_ = 1 / side_;
    // Half a cell of margin: the first column's west border lies outside every polygon.
    origin_ = {extent.min_x - 0.5 * side_, extent.min_y - 0.5 * side_};
    columns_ = static_cast<int>((extent.max_x - origin_.x) * inverse_side_ + 0.5) + 1;
    rows_ = static_cast<int>((extent.max_y - origin_.y) * inverse_side_ + 0.5) + 1;
    end_ = {x_of(columns_), y_of(rows_)};

    starts_.assign(cell_count() + 1, 0);
    for (const Edge& edge : edges) {
        if (!edge.dead()) for_each_cell(edge, [&](std::size_t cell) { ++starts_[cell]; });
    }
    std::uint64_t sum = 0;
    for (std::uint32_t& start : starts_) {
        sum += start;
        assert(sum < none);
        start = static_cast<std::uint32_t>(sum);
    }
    // Filled backwards from each cell's end, last edge first, so that every list rises.
    items_.resize(sum);
    for (std::size_t i = edges.size(); i-- > 0;) {
        if (!edges[i].dead()) {
            for_each_cell(edges[i], [&](std::size_t cell) { items_[--starts_[cell]] = static_cast<EdgeIndex>(i); });
        }
    }
}

}  // namespace subcrop::geo
