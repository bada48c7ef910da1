// A hidden Markov chain over few states: what each observation says of the whole chain (forward-backward).
//
// L. R. Rabiner, A tutorial on hidden Markov models, Proceedings of the IEEE 77 (1989), 257-286, with the forward and
// backward messages scaled to sum to one, so that long chains do not underflow.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

namespace subcrop::infer {

class HiddenMarkov {
public:
    /// Fills the `states` x `states` matrix, row-major, with the probability of going from the row's state to the column's
    /// in the gap between observation `gap` and the next.
    using Transition = std::function<void(std::size_t gap, std::span<double> matrix)>;

    /// `start`: one probability a state. `log_emission`: observations x states, row-major, natural logs (-infinity allowed
    /// where some state of the row is possible). At least one observation.
    HiddenMarkov(std::span<const double> start, std::span<const double> log_emission, const Transition& transition);

    std::size_t states() const { return states_; }
    std::size_t observations() const { return observations_; }
    /// Natural log of the density of all observations.
    double log_likelihood() const { return log_likelihood_; }
    /// Probability of each state at an observation, given this one and those before it.
    std::span<const double> filtered(std::size_t at) const { return {&forward_[at * states_], states_}; }
    /// Probability of each state at an observation, given all.
    std::span<const double> smoothed(std::size_t at) const { return {&smoothed_[at * states_], states_}; }
    /// Probability, given all, of each pair of states on the two sides of a gap: `states` x `states`, row-major, sums to one.
    void pairs(std::size_t gap, std::span<double> joint) const;

private:
    std::size_t states_;
    std::size_t observations_;
    Transition transition_;
    std::vector<double> emission_;  ///< relative to the greatest of its row
    std::vector<double> forward_;
    std::vector<double> backward_;
    std::vector<double> smoothed_;
    double log_likelihood_ = 0;
};

}  // namespace subcrop::infer
