// A random field of classes: the softmax of one Gaussian process for each class, added to a given prior.
//
// P(class c at x) = softmax over c of m_c(x) + T g_c(x). g_c is a Gaussian process of standard deviation 1 and
// correlation exp(-d^2 / 2 H^2), as a sum of Gaussian bumps. The first `anchors` classes have no process. m_c is chosen
// such that the mean probability of c over g is the prior probability (`PriorMeans`). Mode by L-BFGS, draws by
// Gauss-Newton with one outer product of scores a stop and conjugate gradients (perturb and solve; Papandreou and
// Yuille 2010, from memory).
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "infer/answer/displacement_basis.hpp"
#include "infer/answer/minimise.hpp"
#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

/// Means of the softmax from prior probabilities. Differences of two classes have the standard deviation `spread`.
class PriorMeans {
public:
    explicit PriorMeans(double spread);
    /// m such that the mean of 1 / (1 + exp(-m - spread z)) over a standard normal z is `probability`. 0 for one half
    /// and above.
    float operator()(double probability) const;

private:
    std::vector<double> log_probability_, mean_;
};

struct CategoryFieldOptions {
    double sd = 1;         ///< T
    double reach_m = 500;  ///< H
    std::size_t classes = 2;
    std::size_t anchors = 0;
    std::size_t draws = 24;
    float typical_mean = 0;  ///< typical prior mean of a class; for `quiet`
    std::uint64_t seed = 1;
};

class CategoryField {
public:
    CategoryField() = default;
    /// `evidence`: stops x classes, likelihoods relative to the largest. `prior_means(error_share, means)` fills stops
    /// x classes for each stage of the search. `error_share` falls from 0.3 to 0 (or the minimum asked for).
    CategoryField(std::span<const Point> places, const std::vector<float>& evidence,
                  const CategoryFieldOptions& options,
                  const std::function<void(double error_share, std::vector<float>& means)>& prior_means,
                  unsigned threads);

    bool empty() const { return draws_ == 0; }
    /// Stops x classes: probabilities by all other stops; the stop's own evidence is removed.
    const std::vector<float>& at_stops() const { return at_stops_; }
    /// Probability of each class at a place with these prior means.
    void at(Point place, std::span<const float> means, std::span<float> probability) const;
    /// Whether the classes other than anchors have less than 0.02 together near a place, if their prior means are
    /// `typical_mean`.
    bool quiet(Point place) const;
    const Minimum& search() const { return search_; }

private:
    std::size_t classes_ = 0, anchors_ = 0, draws_ = 0;
    double west_ = 0, south_ = 0, spacing_m_ = 1;
    std::size_t columns_ = 0, rows_ = 0;
    std::vector<float> values_;  ///< nodes x draws x classes with a process, times T
    std::vector<float>
        typical_share_;  ///< one for each node: share of the classes other than anchors, with typical prior means
    std::vector<float> at_stops_;
    Minimum search_;
};

}  // namespace subcrop::infer
