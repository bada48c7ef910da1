// Average precision of a ranking: the mean, over what was to be found, of the precision down to each of them.
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Scores, in any order, each with whether it was to be found; equals keep their order. 0 where nothing was to be
/// found.
inline double average_precision(std::vector<std::pair<double, bool>> scored) {
    std::stable_sort(scored.begin(), scored.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    double hits = 0, sum = 0;
    for (std::size_t i = 0; i < scored.size(); ++i) {
        if (!scored[i].second) continue;
        hits += 1;
        sum += hits / static_cast<double>(i + 1);
    }
    return hits > 0 ? sum / hits : 0;
}

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
