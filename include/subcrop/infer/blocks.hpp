// Blocks of stops that are hidden together: neighbouring soils are alike, so hiding single stops gives too good a
// result.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct Blocks {
    double side_m = 0;
    std::uint16_t folds = 0;  ///< groups of blocks
    std::vector<std::uint16_t> fold_of_stop;
};

/// Squares of `side_m` from the stops' south-west corner (0: about a hundred over their extent, at least `min_side_m`).
/// They are grouped into at most 40 folds (10 above 20,000 stops) with about equal numbers of stops.
Blocks divide_into_blocks(std::span<const Point> stops, double side_m, double min_side_m);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
