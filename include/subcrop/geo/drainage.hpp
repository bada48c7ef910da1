// Drainage: filled hollows, steepest descent, the area that drains through each cell, the path to a stream.
//
//     Drainage water(heights);                                   // one HeightGrid of at most some million cells
//     double area_m2 = water.area_m2(column, row);               // that drains through the cell, itself included
//     auto ways = ways_to_stream(terrain, places, {}, threads);  // any grid: in tiles, only where there are places
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/terrain.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

class Drainage {
public:
    /// A priority flood from the grid's edge and its voids fills hollows, so that flats drain as well
    /// (Barnes, Lehman & Mulla 2014, Computers & Geosciences 62:117-127). Each cell then drains to the steepest of its
    /// eight neighbours (O'Callaghan & Mark 1984, Computer Vision, Graphics, and Image Processing 28:323-344).
    explicit Drainage(const HeightGrid& heights);

    /// Height with the hollows filled.
    std::optional<double> filled_m(std::int64_t column, std::int64_t row) const { return filled_.at(column, row); }
    /// Index (row x columns + column) of the cell it drains to; absent for voids and where water leaves the grid.
    std::optional<std::size_t> drains_to(std::int64_t column, std::int64_t row) const;
    double area_m2(std::int64_t column, std::int64_t row) const {
        return area_m2_[static_cast<std::size_t>(row * filled_.columns() + column)];
    }

private:
    HeightGrid filled_;
    std::vector<std::uint8_t> direction_;
    std::vector<double> area_m2_;
};

struct DrainageOptions {
    /// A cell is a stream if at least this area drains through it. Common practice, no source: streams begin at 1 to 10
    /// hectares; 5 is used.
    double stream_from_m2 = 50'000;
    /// Finer cells are averaged to this size first, because water flows over metres and fine cells cost time.
    double min_cell_m = 5;
    /// Margin computed around each tile, and maximum length of a path.
    double margin_m = 500;
    std::int64_t tile_cells = 1000;
};

struct WayToStream {
    double distance_m = 0;  ///< along the path of the water
    double above_m = 0;     ///< height of the place above the stream there; 0 or more
    double area_m2 = 0;     ///< area that drains through the cell of the place
};

/// One entry a place; absent in voids, outside, and if no stream is reached within the margin. A grid no larger than a
/// tile is computed as a whole. With tiles, streams from beyond the margin count only with the area that they drain
/// inside it.
std::vector<std::optional<WayToStream>> ways_to_stream(const Terrain& terrain, std::span<const Point> places,
                                                       const DrainageOptions& options, unsigned threads);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
