// The soil signature of each unit in one channel, and what it says at each stop.
//
// For unit u the predictive density of a value v is:
//   f_u(v) = (a T_u(v) + sum_j r_ju k(v - v_j)) / (a + sum_j r_ju)
// T_u: posterior predictive of a normal-inverse-Wishart shrunk to the pooled scatter (a Student t).
// k: Gaussian kernel of covariance h^2 times the pooled one, plus the errors of both values.
// r_ju: probability that stop j lies on unit u. a: 8 stops, so that three stops already give a sensible result.
// Categories are Dirichlet-multinomial and sets beta-Bernoulli, both shrunk to the pooled shares.
//
// A stop is judged by a signature learnt without its whole block, because neighbouring soils are alike.
//
//     Signature signature = learn_signature(channel, training, judges, threads);
//     float ln_f = signature.row(stop)[u];  // log of f_u over the average of all units, without the stop's own block
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/model/stop.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// What signatures are learnt from.
struct Training {
    std::size_t units = 0;
    std::uint16_t folds = 0;                  ///< groups of blocks, left out in turn
    std::vector<std::uint16_t> fold_of_stop;  ///< value `folds`: nothing is left out for this stop
    std::vector<float> responsibility;        ///< stops x units; a row of zeros teaches nothing
    std::vector<double> shares;               ///< of each unit among all; sums to 1
};

/// For each stop: its unit if known well enough to test signatures, else -1.
using Judges = std::vector<model::UnitIndex>;

struct SignatureOptions {
    double base_stops = 8;            ///< weight of the Student t base, in stops
    double category_stops = 5;        ///< weight of the pooled shares in categories and sets, in stops
    double prior_mean_stops = 1;      ///< kappa0 of the normal-inverse-Wishart
    double prior_scatter_stops = 10;  ///< its degrees of freedom above the minimum for a finite mean
    /// Kernel widths to try, in pooled standard deviations. The one with the lowest log loss at hidden stops is taken.
    std::vector<double> bandwidths{0.25, 0.35, 0.5, 0.7, 1.0, 1.4};
};

class Signature {
public:
    static constexpr std::uint32_t no_row = std::numeric_limits<std::uint32_t>::max();

    std::size_t units = 0;
    double bandwidth = 0;                    ///< 0 for categories and sets
    std::vector<std::uint32_t> row_of_stop;  ///< no_row where the stop has no value
    std::vector<float> relative;             ///< rows x units: ln f_u - ln(sum_u share_u f_u)
    std::vector<float> average;              ///< rows: ln(sum_u share_u f_u)

    bool speaks(std::size_t stop) const { return row_of_stop[stop] != no_row; }
    std::span<const float> row(std::size_t stop) const {
        return {relative.data() + static_cast<std::size_t>(row_of_stop[stop]) * units, units};
    }
    /// ln f_u at the stop.
    double log_density(std::size_t stop, model::UnitIndex unit) const {
        return static_cast<double>(row(stop)[static_cast<std::size_t>(unit)]) + average[row_of_stop[stop]];
    }
};

/// Learns the signature of every unit and evaluates it at every stop that has a value. Cost: distinct values x kernel
/// centres (at most 3,000) x units.
Signature learn_signature(const Channel& channel, const Training& training, const Judges& judges, unsigned threads,
                          const SignatureOptions& options = {});

/// Mean of -ln p(judge's unit) over the judges with a value, in nats a stop. p is proportional to share x f^weight.
double held_out_log_loss(const Signature& signature, const Judges& judges, std::span<const double> log_shares,
                         double weight);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
