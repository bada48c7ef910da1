#include "subcrop/geo/unit_raster.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {

UnitRaster::UnitRaster(const UnitMap& map, double cell_m, double margin_m, unsigned threads, std::size_t most_cells) {
    const Box extent = map.extent();
    const double width = extent.width() + 2 * margin_m, height = extent.height() + 2 * margin_m;
    cell_m_ = std::max(cell_m, std::sqrt(width * height / static_cast<double>(most_cells)));
    west_ = extent.min_x - margin_m;
    south_ = extent.min_y - margin_m;
    columns_ = std::max<std::int64_t>(1, static_cast<std::int64_t>(std::ceil(width / cell_m_)));
    rows_ = std::max<std::int64_t>(1, static_cast<std::int64_t>(std::ceil(height / cell_m_)));
    units_.resize(static_cast<std::size_t>(columns_ * rows_));
    parallel_blocks(static_cast<std::size_t>(rows_), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t row = begin; row < end; ++row) {
            for (std::int64_t column = 0; column < columns_; ++column) {
                const Point centre{west_ + (static_cast<double>(column) + 0.5) * cell_m_,
                                   south_ + (static_cast<double>(row) + 0.5) * cell_m_};
                units_[row * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(column)] =
                    static_cast<std::int16_t>(map.unit_at(centre));
            }
        }
    });
}

}  // namespace subcrop::geo
