// Units on a grid of cells, and the polygons they make: shared edges stay shared and are smoothed alike for both sides.
//
//     UnitGrid grid{.origin = {0, 0}, .cell_m = 50, .columns = 80, .rows = 60, .units = units};
//     std::vector<model::MapPolygon> polygons = grid_polygons(grid);
//
// Cells that touch only in a corner are not connected. Corners where three or more polygons meet do not move, so no gap
// opens. The lines between them are smoothed by at most 0.45 of a cell, so contacts of neighbouring cells do not touch.
#pragma once

#include <cstddef>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/stop.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

struct UnitGrid {
    Point origin;  ///< south-west corner
    double cell_m = 1;
    std::size_t columns = 0;
    std::size_t rows = 0;
    std::vector<model::UnitIndex> units;  ///< row by row from the south-west; no_unit: empty

    Point centre(std::size_t cell) const {
        return {origin.x + (static_cast<double>(cell % columns) + 0.5) * cell_m,
                origin.y + (static_cast<double>(cell / columns) + 0.5) * cell_m};
    }
};

/// One polygon for each connected area, numbered by `row` from 1 in the order of their first cells.
std::vector<model::MapPolygon> grid_polygons(const UnitGrid& grid);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
