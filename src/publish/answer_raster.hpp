// confidence.tif: the answer as a raster: the most probable unit, its probability, and the entropy.
//
//     write_answer_raster("results/confidence.tif", survey, map, probability_at, {.cell_m = 10}, together);
//
// GeoTIFF of three bands of 32-bit floats in the working projection, north up, cells on round numbers of metres: unit
// (its number in the legend from 1; names are in the file's metadata), probability, entropy in bits (0: certain; log2
// of the number of units: all equally probable). -1 off the map.
#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <span>

#include "io/pending_file.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

/// Maximum number of cells: 600 MB in memory.
inline constexpr std::size_t max_cells = 50'000'000;

struct AnswerRaster {
    double cell_m = 10;
    unsigned threads = 0;
};

/// `probability_at` fills one probability for each unit, from many threads. Throws Error if there are more than
/// `max_cells`.
void write_answer_raster(const std::filesystem::path& target, const model::Survey& survey, const geo::UnitMap& map,
                         const std::function<void(Point, std::span<float>)>& probability_at,
                         const AnswerRaster& options, io::PendingFiles& together);

}  // namespace subcrop::publish
