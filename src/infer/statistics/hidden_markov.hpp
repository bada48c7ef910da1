// A hidden Markov chain over few states, by the forward-backward algorithm.
//
// L. R. Rabiner, A tutorial on hidden Markov models, Proceedings of the IEEE 77 (1989), 257-286, with the forward and
// backward messages scaled to sum to one, so that long chains do not underflow.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

namespace subcrop::infer {

/// Transitions from one observation to the next.
class Transition {
public:
    virtual ~Transition() = default;
    /// `to` = `from` times the transition matrix of the gap between observation `gap` and the next.
    virtual void forward(std::size_t gap, std::span<const double> from, std::span<double> to) const = 0;
    /// `before` = the matrix times `after`.
    virtual void backward(std::size_t gap, std::span<const double> after, std::span<double> before) const = 0;
    /// One entry of the matrix.
    virtual double probability(std::size_t gap, std::size_t from, std::size_t to) const = 0;
};

class HiddenMarkov {
public:
    /// Fills the `states` x `states` matrix, row-major, with the probability of going from the row's state to the
    /// column's in the gap between observation `gap` and the next.
    using Matrix = std::function<void(std::size_t gap, std::span<double> matrix)>;

    /// `start`: one probability a state. `log_emission`: observations x states, row-major, natural logs (-infinity
    /// allowed where some state of the row is possible). At least one observation.
    HiddenMarkov(std::span<const double> start, std::span<const double> log_emission,
                 std::shared_ptr<const Transition> transition);
    HiddenMarkov(std::span<const double> start, std::span<const double> log_emission, const Matrix& transition);

    std::size_t states() const { return states_; }
    std::size_t observations() const { return observations_; }
    /// Natural log of the density of all observations.
    double log_likelihood() const { return log_likelihood_; }
    /// Probability of each state at an observation, given this one and those before it.
    std::span<const double> filtered(std::size_t at) const { return {&forward_[at * states_], states_}; }
    /// Probability of each state at an observation, given all.
    std::span<const double> smoothed(std::size_t at) const { return {&smoothed_[at * states_], states_}; }
    /// Probability, given all, of one pair of states on the two sides of a gap.
    double pair(std::size_t gap, std::size_t from, std::size_t to) const;
    /// Probability, given all, of each pair of states on the two sides of a gap: `states` x `states`, row-major, sums
    /// to one.
    void pairs(std::size_t gap, std::span<double> joint) const;

private:
    std::size_t states_;
    std::size_t observations_;
    std::shared_ptr<const Transition> transition_;
    std::vector<double> emission_;  ///< relative to the greatest of its row
    std::vector<double> forward_;
    std::vector<double> backward_;
    std::vector<double> smoothed_;
    std::vector<double> pair_sum_;  ///< of the unscaled pairs of each gap
    double log_likelihood_ = 0;
};

}  // namespace subcrop::infer
