// Average precision of a ranking: the precision at the rank of each wanted item, averaged over the wanted items.
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Scores in any order, each with a flag: wanted or not. Equal scores keep their order. 0 if nothing is wanted.
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
