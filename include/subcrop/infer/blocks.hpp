// Blocks of ground that are left out together: neighbouring soils resemble one another, so leaving out single stops
// flatters.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

struct Blocks {
    double side_m = 0;
    std::uint16_t folds = 0;                  ///< groups of blocks
    std::vector<std::uint16_t> fold_of_stop;
};

/// Squares of `side_m` from the stops' south-west corner (0: about a hundred over the stops' extent, but no smaller than
/// `least_side_m`), dealt to at most 40 folds (10 above 20,000 stops) so that folds hold about equally many stops.
Blocks divide_into_blocks(std::span<const Point> stops, double side_m, double least_side_m);

}  // namespace subcrop::infer
