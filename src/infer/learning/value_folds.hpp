// The pairs of distinct value and fold that occur. Signatures are evaluated, and responsibilities summed, for each
// pair, because there are far fewer pairs than stops.
#pragma once

#include <cstdint>
#include <vector>

#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/signature.hpp"

namespace subcrop::infer {

struct ValueFolds {
    struct Pair {
        std::int32_t value;
        std::uint16_t fold;
    };
    std::vector<Pair> pairs;                    ///< sorted by value, then fold
    std::vector<std::uint32_t> pair_of_stop;    ///< Signature::no_row without a value
    std::vector<std::uint32_t> first_of_value;  ///< value_count + 1 offsets into pairs
    std::vector<double> weights;                ///< pairs x units: summed responsibilities
};

ValueFolds pair_values_with_folds(const Channel& channel, const Training& training);

}  // namespace subcrop::infer
