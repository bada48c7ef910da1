#include "hidden_markov.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

namespace subcrop::infer {

namespace {

double scale_to_one(std::span<double> values) {
    const double sum = std::accumulate(values.begin(), values.end(), 0.0);
    for (double& value : values) value /= sum;
    return sum;
}

}  // namespace

HiddenMarkov::HiddenMarkov(std::span<const double> start, std::span<const double> log_emission,
                           const Transition& transition)
    : states_(start.size()), observations_(log_emission.size() / start.size()), transition_(transition),
      emission_(log_emission.size()), forward_(log_emission.size()), backward_(log_emission.size(), 1.0),
      smoothed_(log_emission.size()) {
    assert(observations_ > 0 && log_emission.size() == states_ * observations_);
    const std::size_t n = states_;
    std::vector<double> matrix(n * n);
    for (std::size_t t = 0; t < observations_; ++t) {
        const auto row = log_emission.subspan(t * n, n);
        const double greatest = *std::max_element(row.begin(), row.end());
        for (std::size_t u = 0; u < n; ++u) emission_[t * n + u] = std::exp(row[u] - greatest);
        const std::span<double> here(&forward_[t * n], n);
        if (t == 0) {
            std::copy(start.begin(), start.end(), here.begin());
        } else {
            transition_(t - 1, matrix);
            for (std::size_t u = 0; u < n; ++u) {
                for (std::size_t v = 0; v < n; ++v) here[v] += forward_[(t - 1) * n + u] * matrix[u * n + v];
            }
        }
        for (std::size_t u = 0; u < n; ++u) here[u] *= emission_[t * n + u];
        log_likelihood_ += greatest + std::log(scale_to_one(here));
    }
    for (std::size_t t = observations_ - 1; t-- > 0;) {
        transition_(t, matrix);
        const std::span<double> here(&backward_[t * n], n);
        for (std::size_t u = 0; u < n; ++u) {
            here[u] = 0;
            for (std::size_t v = 0; v < n; ++v)
                here[u] += matrix[u * n + v] * emission_[(t + 1) * n + v] * backward_[(t + 1) * n + v];
        }
        scale_to_one(here);
    }
    for (std::size_t t = 0; t < observations_; ++t) {
        for (std::size_t u = 0; u < n; ++u) smoothed_[t * n + u] = forward_[t * n + u] * backward_[t * n + u];
        scale_to_one({&smoothed_[t * n], n});
    }
}

void HiddenMarkov::pairs(std::size_t gap, std::span<double> joint) const {
    assert(gap + 1 < observations_ && joint.size() == states_ * states_);
    const std::size_t n = states_;
    transition_(gap, joint);
    for (std::size_t u = 0; u < n; ++u) {
        for (std::size_t v = 0; v < n; ++v)
            joint[u * n + v] *= forward_[gap * n + u] * emission_[(gap + 1) * n + v] * backward_[(gap + 1) * n + v];
    }
    scale_to_one(joint);
}

}  // namespace subcrop::infer
