// A flat uniform grid over edges: for each cell the edges that touch it. Edges within `reach` of a cell are in its list
// too, so that rounding at a cell's border loses none and a point's own cell knows every edge within `reach` of it.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "geo/edge_table.hpp"
#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// Nearest place to `p` on the segment from `a` to `b`.
struct Foot {
    double share = 0;  ///< along the segment, 0 at a, 1 at b
    Point place;
    double squared_distance = 0;
};

inline Foot foot_on(Point a, Point b, Point p) {
    const double dx = b.x - a.x, dy = b.y - a.y;
    const double share = std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / (dx * dx + dy * dy), 0.0, 1.0);
    // From the nearer end, so that the ends come out exact.
    const Point place =
        share < 0.5 ? Point{a.x + share * dx, a.y + share * dy} : Point{b.x - (1 - share) * dx, b.y - (1 - share) * dy};
    const double ex = p.x - place.x, ey = p.y - place.y;
    return {share, place, ex * ex + ey * ey};
}

class EdgeGrid {
public:
    EdgeGrid() = default;
    EdgeGrid(const std::vector<Edge>& edges, const Box& extent, std::size_t cells_wanted, double reach);

    int columns() const { return columns_; }
    int rows() const { return rows_; }
    double side() const { return side_; }
    double reach() const { return reach_; }
    std::size_t cell_count() const { return static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_); }
    std::size_t number(int column, int row) const {
        return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(column);
    }
    /// West border of a column, south border of a row. The first lies outside the extent.
    double x_of(int column) const { return origin_.x + column * side_; }
    double y_of(int row) const { return origin_.y + row * side_; }
    bool covers(Point p) const { return p.x >= origin_.x && p.y >= origin_.y && p.x < end_.x && p.y < end_.y; }
    /// Column and row of a place, the nearest where it lies outside.
    int column(double x) const { return clamped((x - origin_.x) * inverse_side_, columns_); }
    int row(double y) const { return clamped((y - origin_.y) * inverse_side_, rows_); }

    std::span<const EdgeIndex> cell(std::size_t number) const {
        return {items_.data() + starts_[number], items_.data() + starts_[number + 1]};
    }
    std::span<const EdgeIndex> at(Point p) const {
        if (!covers(p)) return {};
        return cell(number(column(p.x), row(p.y)));
    }

private:
    static int clamped(double cell, int count) {
        if (!(cell > 0)) return 0;
        return cell >= count ? count - 1 : static_cast<int>(cell);
    }
    template <class Visit>
    void for_each_cell(const Edge& edge, Visit&& visit) const;

    Point origin_;
    Point end_;
    double side_ = 1;
    double inverse_side_ = 1;
    double reach_ = 0;
    int columns_ = 0;
    int rows_ = 0;
    std::vector<std::uint32_t> starts_;
    std::vector<EdgeIndex> items_;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
