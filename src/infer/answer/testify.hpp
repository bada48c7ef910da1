// Collects the evidence of the survey's stops, and the weight of each stop's own soil.
#pragma once

#include <span>
#include <vector>

#include "infer/answer/answer_state.hpp"
#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/answer.hpp"
#include "subcrop/infer/answer_settings.hpp"
#include "subcrop/infer/signature.hpp"
#include "subcrop/infer/stop_cluster.hpp"

namespace subcrop::infer {

/// Units that the answer distinguishes: drawn or observed somewhere, or all of a legend of 60 or fewer.
std::vector<model::UnitIndex> units_told_apart(const model::Survey& survey, const geo::UnitMap& map);

/// Stops on the map with any notes. `units`: those distinguished.
Testimony testify(const Fit::Reckoning& reckoning, const Training& training, const std::vector<StopFit>& fits,
                  std::span<const model::UnitIndex> units);

/// Prior of each unit at a stop that the answer does not cover: the draft's membership, mixed with the share of single
/// errors. Off the map it is the unit's share of the area. Returns the probability of being on the map.
double prior_at(std::span<const double> membership, std::span<const double> shares, double error_share,
                std::span<double> prior);

/// The weight of a stop's own soil that, with `Reckoning::prior`, best predicts observed bedrock (the prior does not
/// know it). One number, with a normal prior: soil that is like its neighbours' counts too much at full weight. With
/// bedrock observed at fewer stops than AnswerSettings::own_soil_observed it is `usual`.
double learn_own_share(const Fit::Reckoning& reckoning, double usual, const AnswerSettings& settings);

/// Sets `p_disputed`, and finds clusters: at least three disputed stops that look like the same other unit.
std::vector<StopCluster> find_disputes(const Fit::Reckoning& reckoning, const Testimony& testimony,
                                       const Reckoned& reckoned, std::vector<StopFit>& fits);

}  // namespace subcrop::infer
