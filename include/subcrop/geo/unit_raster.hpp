// The draft map on a grid of cells: which unit lies at each cell's centre. For questions asked hundreds of times around
// every stop, where a lookup must cost nanoseconds and a metre does not matter.
//
//     UnitRaster raster(map, 10, 200, threads);   // cells of 10 m, 200 m beyond the map's extent
//     raster.at({x, y})                           // unit, or no_unit off the map
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::geo {

class UnitRaster {
public:
    /// `cell_m` is made coarser where the map would need more than `most_cells` cells. Cost: 0.2 us a cell.
    UnitRaster(const UnitMap& map, double cell_m, double margin_m, unsigned threads,
               std::size_t most_cells = 16'000'000);

    model::UnitIndex at(Point place) const {
        const auto column = static_cast<std::int64_t>((place.x - west_) / cell_m_);
        const auto row = static_cast<std::int64_t>((place.y - south_) / cell_m_);
        if (place.x < west_ || place.y < south_ || column >= columns_ || row >= rows_) return model::no_unit;
        return units_[static_cast<std::size_t>(row * columns_ + column)];
    }
    double cell_m() const { return cell_m_; }

private:
    double west_ = 0, south_ = 0, cell_m_ = 1;
    std::int64_t columns_ = 0, rows_ = 0;
    std::vector<std::int16_t> units_;
};

}  // namespace subcrop::geo
