// Predictive densities of a continuous channel for every pair of value and fold: a Student t base plus Gaussian
// kernels.
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

    /// Density of each pair's value on each unit, learnt without the pair's fold (pairs x units, in the order of
    /// `pairs`).
    std::vector<double> densities(const std::vector<std::uint32_t>& pairs, double bandwidth, unsigned threads) const;

private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::infer
