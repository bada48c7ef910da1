// How much each channel counts. Channels repeat one another, so each channel's log density is multiplied by a weight in
// [0, 1], learnt by log loss at hidden stops.
//
//     ChannelWeights learnt = learn_weights(signatures, judges, fold_of_stop, log_shares);
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/infer/signature.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct WeightOptions {
    double prior_weight = 0.35;  ///< prior mean of every channel's weight
    double prior_stops = 60;     ///< worth of the prior; fewer than 50 judges alone teach nothing useful
};

struct ChannelWeights {
    std::vector<double> weights;  ///< one a channel
    std::size_t judges = 0;
    double log_loss = 0;        ///< nats a judge, by weights and signatures learnt without its group of blocks
    double share_log_loss = 0;  ///< of the shares alone
    double accuracy = 0;        ///< share of judges whose unit came out most probable
    double share_accuracy = 0;  ///< of always naming the commonest unit
};

/// `fold_of_stop`: the blocks that signatures leave out. Each tenth of them is judged by weights learnt from the
/// others. These are approximated by one Newton step from the weights of all.
///
/// Maximum a posteriori by projected Newton steps: the log loss is convex in the weights. The prior is normal around
/// `prior_weight`. In each channel, one stop of prior is the mean Fisher information of a stop at that weight.
ChannelWeights learn_weights(const std::vector<Signature>& signatures, const Judges& judges,
                             std::span<const std::uint16_t> fold_of_stop, std::span<const double> log_shares,
                             const WeightOptions& options = {});

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
