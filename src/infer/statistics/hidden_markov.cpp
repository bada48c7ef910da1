#include "infer/statistics/hidden_markov.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <utility>

namespace subcrop::infer {

namespace {

double scale_to_one(std::span<double> values) {
    const double sum = std::accumulate(values.begin(), values.end(), 0.0);
    for (double& value : values) value /= sum;
    return sum;
}

/// Transitions given as whole matrices.
class MatrixTransition : public Transition {
public:
    MatrixTransition(std::size_t states, std::size_t gaps, const HiddenMarkov::Matrix& fill)
        : states_(states), matrices_(gaps * states * states) {
        for (std::size_t gap = 0; gap < gaps; ++gap) fill(gap, {&matrices_[gap * states * states], states * states});
    }
    void forward(std::size_t gap, std::span<const double> from, std::span<double> to) const override {
        std::fill(to.begin(), to.end(), 0.0);
        for (std::size_t u = 0; u < states_; ++u) {
            for (std::size_t v = 0; v < states_; ++v) to[v] += from[u] * probability(gap, u, v);
        }
    }
    void backward(std::size_t gap, std::span<const double> after, std::span<double> before) const override {
        for (std::size_t u = 0; u < states_; ++u) {
            before[u] = 0;
            for (std::size_t v = 0; v < states_; ++v) before[u] += probability(gap, u, v) * after[v];
        }
    }
    double probability(std::size_t gap, std::size_t from, std::size_t to) const override {
        return matrices_[(gap * states_ + from) * states_ + to];
    }

private:
    std::size_t states_;
    std::vector<double> matrices_;
};

}  // namespace

HiddenMarkov::HiddenMarkov(std::span<const double> start, std::span<const double> log_emission,
                           const Matrix& transition)
    : HiddenMarkov(
          start, log_emission,
          std::make_shared<MatrixTransition>(start.size(), log_emission.size() / start.size() - 1, transition)) {}

HiddenMarkov::HiddenMarkov(std::span<const double> start, std::span<const double> log_emission,
                           std::shared_ptr<const Transition> transition)
    : states_(start.size()),
      observations_(log_emission.size() / start.size()),
      transition_(std::move(transition)),
      emission_(log_emission.size()),
      forward_(log_emission.size()),
      backward_(log_emission.size(), 1.0),
      smoothed_(log_emission.size()),
      pair_sum_(observations_, 1.0) {
    assert(observations_ > 0 && log_emission.size() == states_ * observations_);
    const std::size_t n = states_;
    for (std::size_t t = 0; t < observations_; ++t) {
        const auto row = log_emission.subspan(t * n, n);
        const double greatest = *std::max_element(row.begin(), row.end());
        for (std::size_t u = 0; u < n; ++u) emission_[t * n + u] = std::exp(row[u] - greatest);
        const std::span<double> here(&forward_[t * n], n);
        if (t == 0) {
            std::copy(start.begin(), start.end(), here.begin());
        } else {
            transition_->forward(t - 1, {&forward_[(t - 1) * n], n}, here);
        }
        for (std::size_t u = 0; u < n; ++u) here[u] *= emission_[t * n + u];
        log_likelihood_ += greatest + std::log(scale_to_one(here));
    }
    std::vector<double> after(n);
    for (std::size_t t = observations_ - 1; t-- > 0;) {
        for (std::size_t v = 0; v < n; ++v) after[v] = emission_[(t + 1) * n + v] * backward_[(t + 1) * n + v];
        const std::span<double> here(&backward_[t * n], n);
        transition_->backward(t, after, here);
        pair_sum_[t] =
            std::inner_product(here.begin(), here.end(), forward_.begin() + static_cast<std::ptrdiff_t>(t * n), 0.0);
        scale_to_one(here);
    }
    for (std::size_t t = 0; t < observations_; ++t) {
        for (std::size_t u = 0; u < n; ++u) smoothed_[t * n + u] = forward_[t * n + u] * backward_[t * n + u];
        scale_to_one({&smoothed_[t * n], n});
    }
}

double HiddenMarkov::pair(std::size_t gap, std::size_t from, std::size_t to) const {
    assert(gap + 1 < observations_);
    const std::size_t n = states_;
    return forward_[gap * n + from] * transition_->probability(gap, from, to) * emission_[(gap + 1) * n + to] *
           backward_[(gap + 1) * n + to] / pair_sum_[gap];
}

void HiddenMarkov::pairs(std::size_t gap, std::span<double> joint) const {
    assert(joint.size() == states_ * states_);
    for (std::size_t u = 0; u < states_; ++u) {
        for (std::size_t v = 0; v < states_; ++v) joint[u * states_ + v] = pair(gap, u, v);
    }
}

}  // namespace subcrop::infer
