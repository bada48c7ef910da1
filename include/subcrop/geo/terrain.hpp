// Height and shape of the land at a place. Pure arithmetic; io/terrain_reader.hpp reads rasters.
//
//     Terrain ground(std::move(heights));
//     std::optional<double> height_m = ground.height(p);      // nothing where the terrain has a void or ends
//     std::optional<Surface> shape = ground.surface(p, 20);   // slope, aspect and curvature over 20 m
//     std::vector<Point> up = ground.upslope_path(p, 60, 5);  // places 5 m apart up the steepest way
//
// All questions are const and safe from many threads. A grid of 10,000 by 10,000 cells takes 400 MB.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// Heights in metres on square cells; row 0 is the northernmost, column 0 the westernmost. Cells start as voids.
class HeightGrid {
public:
    HeightGrid() = default;
    /// `west`, `north`: the outer corner of cell (0, 0).
    HeightGrid(double west, double north, double cell_m, std::int64_t columns, std::int64_t rows);

    std::optional<double> at(std::int64_t column, std::int64_t row) const {
        if (!known(column, row)) return std::nullopt;
        return static_cast<double>(cells_[index(column, row)]);
    }
    /// Inside the grid and no void.
    bool known(std::int64_t column, std::int64_t row) const {
        return column >= 0 && row >= 0 && column < columns_ && row < rows_ && cells_[index(column, row)] != empty_cell;
    }
    void set(std::int64_t column, std::int64_t row, double height_m) {
        cells_[index(column, row)] = static_cast<float>(height_m);
    }
    void clear(std::int64_t column, std::int64_t row) { cells_[index(column, row)] = empty_cell; }

    double west() const { return west_; }
    double north() const { return north_; }
    double cell_m() const { return cell_m_; }
    std::int64_t columns() const { return columns_; }
    std::int64_t rows() const { return rows_; }
    bool empty() const { return cells_.empty(); }
    Point centre(std::int64_t column, std::int64_t row) const {
        return {west_ + (static_cast<double>(column) + 0.5) * cell_m_,
                north_ - (static_cast<double>(row) + 0.5) * cell_m_};
    }

private:
    static constexpr float empty_cell = std::numeric_limits<float>::lowest();
    std::size_t index(std::int64_t column, std::int64_t row) const {
        return static_cast<std::size_t>(row * columns_ + column);
    }

    double west_ = 0, north_ = 0, cell_m_ = 1;
    std::int64_t columns_ = 0, rows_ = 0;
    std::vector<float> cells_;
};

/// The shape of the land at a place.
struct Surface {
    double slope_deg = 0;
    std::optional<double> aspect_deg{};  ///< direction downslope, clockwise from north; absent if level
    Point uphill{};                      ///< unit vector; (0, 0) if level
    /// Convex is positive, 1/m: along the slope, and along the contour. Both 0 if level.
    double profile_curvature = 0;
    double plan_curvature = 0;
};

class Terrain {
public:
    /// `step_m`: heights are rounded to this step, such as whole metres; 0: they are not.
    explicit Terrain(HeightGrid heights, double step_m = 0);

    const HeightGrid& grid() const { return heights_; }
    double cell_m() const { return heights_.cell_m(); }
    /// The spacing for the shape of hillslopes: 20 m, or a cell if that is more, or enough that rounded heights change
    /// no slope by more than a hundredth (rms).
    double hillslope_m() const;

    /// Bilinear between the centres of cells; only from known cells if some are voids. Absent if the cell of the place
    /// is a void or outside.
    std::optional<double> height(Point place) const;

    /// On a square of nine heights `spacing_m` apart, not nearer than the cells. Slope and aspect: third-order
    /// differences (Horn 1981, Proceedings of the IEEE 69:14-47). Curvatures: partial quartic (Zevenbergen & Thorne
    /// 1987, Earth Surface Processes and Landforms 12:47-56). At the centre of a cell with the cells' own spacing the
    /// slope is the usual one on rasters. A missing height is extrapolated in a straight line through the centre.
    /// Absent if `height` is absent.
    std::optional<Surface> surface(Point place, double spacing_m = 0) const;

    /// Places `step_m` apart up the gradient over `spacing_m`, the first at `from`. It ends at `length_m`, on a slope
    /// below 1 in 50, at a crest or at the terrain's end. At least `from` itself.
    std::vector<Point> upslope_path(Point from, double length_m, double step_m, double spacing_m = 0) const;

private:
    HeightGrid heights_;
    double step_m_ = 0;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
