#include "infer/learning/value_folds.hpp"

#include <algorithm>
#include <cstddef>

namespace subcrop::infer {

ValueFolds pair_values_with_folds(const Channel& channel, const Training& training) {
    const std::size_t stops = channel.value_of_stop.size();
    ValueFolds result;

    std::vector<std::vector<std::uint16_t>> folds_of_value(channel.value_count);
    for (std::size_t s = 0; s < stops; ++s) {
        const std::int32_t value = channel.value_of_stop[s];
        if (value < 0) continue;
        auto& list = folds_of_value[static_cast<std::size_t>(value)];
        if (std::find(list.begin(), list.end(), training.fold_of_stop[s]) == list.end()) {
            list.push_back(training.fold_of_stop[s]);
        }
    }
    result.first_of_value.push_back(0);
    for (std::size_t v = 0; v < channel.value_count; ++v) {
        auto& list = folds_of_value[v];
        std::sort(list.begin(), list.end());
        for (const std::uint16_t fold : list) result.pairs.push_back({static_cast<std::int32_t>(v), fold});
        result.first_of_value.push_back(static_cast<std::uint32_t>(result.pairs.size()));
    }

    result.pair_of_stop.assign(stops, Signature::no_row);
    result.weights.assign(result.pairs.size() * training.units, 0.0);
    for (std::size_t s = 0; s < stops; ++s) {
        const std::int32_t value = channel.value_of_stop[s];
        if (value < 0) continue;
        std::uint32_t pair = result.first_of_value[static_cast<std::size_t>(value)];
        while (result.pairs[pair].fold != training.fold_of_stop[s]) ++pair;
        result.pair_of_stop[s] = pair;
        for (std::size_t u = 0; u < training.units; ++u) {
            result.weights[pair * training.units + u] +=
                static_cast<double>(training.responsibility[s * training.units + u]);
        }
    }
    return result;
}

}  // namespace subcrop::infer
