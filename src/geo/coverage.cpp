#include "geo/coverage.hpp"

#include <cassert>
#include <utility>

#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {
namespace {

constexpr std::uint32_t several_bit = 0x80000000u;

// All tests below see a place as moved by (d, e) with 0 < d << e << any distance: then none lies on an edge or level
// with a vertex, and the crossings along a broken line agree with one another.
bool lies_left(const Edge& edge, Point place) {
    const int side = orientation(edge.a, edge.b, place);
    return side != 0 ? side > 0 : edge.a.x < edge.b.x;
}

// Does the edge cross the line from `west` east to `east` (same y)?
bool crosses_eastward(const Edge& edge, Point west, Point east) {
    const bool upward = edge.a.y <= west.y;
    if (upward == (edge.b.y <= west.y)) return false;
    if (edge.b.x <= west.x || edge.a.x > east.x) return false;
    // A place west of the whole edge lies to its left where it runs upward.
    const bool west_left = edge.a.x > west.x ? upward : lies_left(edge, west);
    const bool east_left = edge.b.x <= east.x ? !upward : lies_left(edge, east);
    return west_left != east_left;
}

// Does the edge cross the line from `south` north to `north` (same x)?
bool crosses_northward(const Edge& edge, Point south, Point north) {
    if (edge.a.x > south.x || edge.b.x <= south.x) return false;
    const double low = std::min(edge.a.y, edge.b.y), high = std::max(edge.a.y, edge.b.y);
    if (high <= south.y || low > north.y) return false;
    const bool south_left = low > south.y ? false : lies_left(edge, south);
    const bool north_left = high <= north.y ? true : lies_left(edge, north);
    return south_left != north_left;
}

}  // namespace

Coverage::Coverage(const EdgeTable& table, double tolerance, unsigned threads)
    : table_(&table),
      squared_tolerance_(tolerance * tolerance),
      grid_(table.edges(), table.extent(), table.edges().size() / 2, tolerance) {
    find_corners(threads);
}

void Coverage::find_corners(unsigned threads) {
    corners_.assign(grid_.cell_count(), none);
    const auto rows = static_cast<std::size_t>(grid_.rows());
    std::vector<std::vector<std::pair<std::size_t, std::vector<PolygonIndex>>>> crowds(rows);
    parallel_blocks(rows, 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        CoverSet set;
        for (std::size_t row = begin; row < end; ++row) {
            set.clear();
            const double y = grid_.y_of(static_cast<int>(row));
            for (int column = 0; column < grid_.columns(); ++column) {
                const std::size_t cell = grid_.number(column, static_cast<int>(row));
                if (set.size() == 1) {
                    corners_[cell] = set.first();
                } else if (set.size() > 1) {
                    crowds[row].emplace_back(cell, set.sorted());
                }
                const Point west{grid_.x_of(column), y}, east{grid_.x_of(column + 1), y};
                for (const EdgeIndex i : grid_.cell(cell)) {
                    if (crosses_eastward(edges()[i], west, east)) set.cross(edges()[i]);
                }
            }
            assert(set.size() == 0);  // beyond the last column lies no polygon
        }
    });
    for (auto& row : crowds) {
        for (auto& [cell, polygons] : row) {
            corners_[cell] = several_bit | static_cast<std::uint32_t>(several_.size());
            several_.push_back(std::move(polygons));
        }
    }
}

void Coverage::cover(Point place, CoverSet& found) const {
    found.clear();
    if (!grid_.covers(place)) return;
    const int column = grid_.column(place.x), row = grid_.row(place.y);
    const std::size_t cell = grid_.number(column, row);
    const std::uint32_t corner = corners_[cell];
    if (corner == none || (corner & several_bit) == 0) {
        found.toggle(corner);
    } else {
        for (const PolygonIndex polygon : several_[corner & ~several_bit]) found.toggle(polygon);
    }
    // Rounding may put a place a hair outside its cell; the walk stays good, as the cell's list reaches a little
    // farther.
    const Point south{grid_.x_of(column), grid_.y_of(row)}, turn{south.x, std::max(place.y, south.y)};
    const Point end{std::max(place.x, south.x), turn.y};
    for (const EdgeIndex i : grid_.cell(cell)) {
        const Edge& edge = edges()[i];
        if (crosses_northward(edge, south, turn) != crosses_eastward(edge, turn, end)) found.cross(edge);
    }
}

bool Coverage::on_edge(Point place) const {
    for (const EdgeIndex i : grid_.at(place)) {
        const Edge& edge = edges()[i];
        const double reach = grid_.reach();
        if (place.x < edge.a.x - reach || place.x > edge.b.x + reach) continue;
        if (place.y < std::min(edge.a.y, edge.b.y) - reach || place.y > std::max(edge.a.y, edge.b.y) + reach) continue;
        if (foot_on(edge.a, edge.b, place).squared_distance <= squared_tolerance_) return true;
    }
    return false;
}

bool Coverage::touching(Point place, std::vector<PolygonIndex>& found) const {
    bool any = false;
    for (const EdgeIndex i : grid_.at(place)) {
        const Edge& edge = edges()[i];
        if (foot_on(edge.a, edge.b, place).squared_distance > squared_tolerance_) continue;
        any = true;
        if (edge.left != none) found.push_back(edge.left);
        if (edge.right != none) found.push_back(edge.right);
    }
    return any;
}

}  // namespace subcrop::geo
