#include "subcrop/infer/weights.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cassert>
#include <cmath>
#include <optional>

namespace subcrop::infer {

namespace {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

constexpr std::size_t kept_back_groups = 10;

/// The judges' evidence in one array: judge x channel x unit.
struct Bench {
    std::size_t channels = 0, units = 0, judges = 0;
    std::vector<float> evidence;
    std::vector<std::size_t> own;    ///< the judge's unit
    std::vector<std::size_t> group;  ///< group of blocks, hidden together
    std::span<const double> log_shares;

    const float* row(std::size_t judge, std::size_t channel) const {
        return &evidence[(judge * channels + channel) * units];
    }
    /// Probability of each unit; returns the log of the own unit's.
    double posterior(std::size_t judge, const Vector& weights, std::vector<double>& p) const {
        for (std::size_t u = 0; u < units; ++u) p[u] = log_shares[u];
        for (std::size_t c = 0; c < channels; ++c) {
            const float* e = row(judge, c);
            const double w = weights[static_cast<Eigen::Index>(c)];
            for (std::size_t u = 0; u < units; ++u) p[u] += w * static_cast<double>(e[u]);
        }
        const double greatest = *std::max_element(p.begin(), p.end());
        double sum = 0;
        for (double& x : p) sum += (x = std::exp(x - greatest));
        for (double& x : p) x /= sum;
        return std::log(std::max(p[own[judge]], 1e-300));
    }
};

Bench gather(const std::vector<Signature>& signatures, const Judges& judges,
             std::span<const std::uint16_t> fold_of_stop, std::span<const double> log_shares) {
    Bench bench;
    bench.channels = signatures.size();
    bench.units = log_shares.size();
    bench.log_shares = log_shares;
    for (std::size_t s = 0; s < judges.size(); ++s) {
        if (judges[s] < 0) continue;
        bench.own.push_back(static_cast<std::size_t>(judges[s]));
        bench.group.push_back(fold_of_stop[s] % kept_back_groups);
        for (const Signature& signature : signatures) {
            if (signature.speaks(s)) {
                const auto row = signature.row(s);
                bench.evidence.insert(bench.evidence.end(), row.begin(), row.end());
            } else {
                bench.evidence.insert(bench.evidence.end(), bench.units, 0.0f);
            }
        }
    }
    bench.judges = bench.own.size();
    return bench;
}

/// The log loss at hidden stops, with gradient and curvature.
struct Objective {
    double loss = 0;
    Vector gradient;
    Matrix curvature;
};

/// Over all judges, or over one group.
Objective evaluate(const Bench& bench, const Vector& weights, std::optional<std::size_t> group = {}) {
    const auto n = static_cast<Eigen::Index>(bench.channels);
    Objective result{0, Vector::Zero(n), Matrix::Zero(n, n)};
    std::vector<double> p(bench.units);
    Matrix centred(n, static_cast<Eigen::Index>(bench.units));
    for (std::size_t j = 0; j < bench.judges; ++j) {
        if (group && bench.group[j] != *group) continue;
        result.loss -= bench.posterior(j, weights, p);
        for (std::size_t c = 0; c < bench.channels; ++c) {
            const float* e = bench.row(j, c);
            double mean = 0;
            for (std::size_t u = 0; u < bench.units; ++u) mean += p[u] * static_cast<double>(e[u]);
            result.gradient[static_cast<Eigen::Index>(c)] += mean - static_cast<double>(e[bench.own[j]]);
            for (std::size_t u = 0; u < bench.units; ++u) {
                centred(static_cast<Eigen::Index>(c), static_cast<Eigen::Index>(u)) =
                    (static_cast<double>(e[u]) - mean) * std::sqrt(p[u]);
            }
        }
        result.curvature.noalias() += centred * centred.transpose();
    }
    return result;
}

/// One Newton step for the weights that are not at a bound, clipped to the box.
Vector newton_step(const Vector& weights, const Vector& gradient, const Matrix& curvature) {
    std::vector<Eigen::Index> free;
    for (Eigen::Index c = 0; c < weights.size(); ++c) {
        const bool held = (weights[c] <= 0 && gradient[c] > 0) || (weights[c] >= 1 && gradient[c] < 0);
        if (!held) free.push_back(c);
    }
    Vector step = Vector::Zero(weights.size());
    if (free.empty()) return step;
    const auto n = static_cast<Eigen::Index>(free.size());
    Matrix h(n, n);
    Vector g(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        g[i] = gradient[free[static_cast<std::size_t>(i)]];
        for (Eigen::Index k = 0; k < n; ++k) {
            h(i, k) = curvature(free[static_cast<std::size_t>(i)], free[static_cast<std::size_t>(k)]);
        }
    }
    h.diagonal().array() += 1e-9;
    const Vector s = h.ldlt().solve(-g);
    for (Eigen::Index i = 0; i < n; ++i) step[free[static_cast<std::size_t>(i)]] = s[i];
    return step;
}

}  // namespace

ChannelWeights learn_weights(const std::vector<Signature>& signatures, const Judges& judges,
                             std::span<const std::uint16_t> fold_of_stop, std::span<const double> log_shares,
                             const WeightOptions& options) {
    assert(fold_of_stop.size() == judges.size());
    const Bench bench = gather(signatures, judges, fold_of_stop, log_shares);
    const auto n = static_cast<Eigen::Index>(bench.channels);
    const Vector prior = Vector::Constant(n, options.prior_weight);
    Vector weights = prior;

    // Mean Fisher information of a judge about each weight, at the prior. The strength of the prior is stated in this
    // unit.
    const Objective at_prior = evaluate(bench, prior);
    const double per_judge = bench.judges > 0 ? 1.0 / static_cast<double>(bench.judges) : 0.0;
    const Vector stiffness = at_prior.curvature.diagonal() * (per_judge * options.prior_stops);
    auto total = [&](const Objective& o, const Vector& w) {
        return o.loss + 0.5 * (stiffness.array() * (w - prior).array().square()).sum();
    };

    Objective here = at_prior;
    double value = total(here, weights);
    for (int iteration = 0; iteration < 50; ++iteration) {
        const Vector gradient = here.gradient + stiffness.cwiseProduct(weights - prior);
        Matrix curvature = here.curvature;
        curvature.diagonal() += stiffness;
        const Vector step = newton_step(weights, gradient, curvature);
        double length = 1;
        bool moved = false;
        for (int halving = 0; halving < 30; ++halving, length /= 2) {
            const Vector trial = (weights + length * step).cwiseMax(0.0).cwiseMin(1.0);
            const Objective there = evaluate(bench, trial);
            const double trial_value = total(there, trial);
            if (trial_value < value - 1e-12) {
                moved = value - trial_value > 1e-9 * (1 + std::abs(value));
                weights = trial;
                here = there;
                value = trial_value;
                break;
            }
        }
        if (!moved) break;
    }

    ChannelWeights result;
    result.weights.assign(weights.data(), weights.data() + weights.size());
    result.judges = bench.judges;
    if (bench.judges == 0) return result;
    std::vector<double> p(bench.units);
    const auto commonest =
        static_cast<std::size_t>(std::max_element(log_shares.begin(), log_shares.end()) - log_shares.begin());
    const Vector silent = Vector::Zero(n);
    std::vector<Vector> without;
    for (std::size_t group = 0; group < kept_back_groups; ++group) {
        const Objective of_group = evaluate(bench, weights, group);
        const Vector gradient = here.gradient - of_group.gradient + stiffness.cwiseProduct(weights - prior);
        Matrix curvature = here.curvature - of_group.curvature;
        curvature.diagonal() += stiffness;
        without.push_back((weights + newton_step(weights, gradient, curvature)).cwiseMax(0.0).cwiseMin(1.0));
    }
    for (std::size_t j = 0; j < bench.judges; ++j) {
        result.share_log_loss -= bench.posterior(j, silent, p) * per_judge;
        result.log_loss -= bench.posterior(j, without[bench.group[j]], p) * per_judge;
        const auto likeliest = static_cast<std::size_t>(std::max_element(p.begin(), p.end()) - p.begin());
        result.accuracy += likeliest == bench.own[j] ? per_judge : 0;
        result.share_accuracy += commonest == bench.own[j] ? per_judge : 0;
    }
    return result;
}

}  // namespace subcrop::infer
