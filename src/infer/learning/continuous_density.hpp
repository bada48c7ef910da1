// Predictive densities of a continuous channel: Student t base and Gaussian kernels, for every pair of value and fold.
#pragma once

#include <cstddef>
#include <memory>
#include <vector>

#include "infer/learning/value_folds.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/signature.hpp"

namespace subcrop::infer {

class ContinuousDensity {
public:
    ContinuousDensity(const Channel& channel, const Training& training, const ValueFolds& values,
                      const SignatureOptions& options);
    ~ContinuousDensity();

    /// Density of the value of each pair under each unit (pairs x units, in the order of `pairs`), each without the
    /// pair's own fold.
    std::vector<double> densities(const std::vector<std::uint32_t>& pairs, double bandwidth, unsigned threads) const;

private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::infer
