// The survey's stops called to testify, and how far each one's own soil is believed.
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

/// Units that the answer tells apart: drawn or observed somewhere, or all of a legend of 60 or fewer.
std::vector<model::UnitIndex> units_told_apart(const model::Survey& survey, const geo::UnitMap& map);

/// Stops on the map at which something was noted. `units`: those told apart.
Testimony testify(const Fit::Reckoning& reckoning, const Training& training, const std::vector<StopFit>& fits,
                  std::span<const model::UnitIndex> units);

/// Prior of each unit at a stop off the answer's reach: the draft's membership with the share of the area where it is
/// wrong in no smooth way; off the map no more than how common each unit is. Returns the probability of being on the
/// map.
double prior_at(std::span<const double> membership, std::span<const double> shares, double error_share,
                std::span<double> prior);

/// The share of a stop's own soil that predicts the observed bedrock best beside `Reckoning::prior`, which does not
/// know it: one number with a normal prior, since soils that resemble their neighbours' claim more than they know.
/// `usual` where bedrock was observed at fewer stops than AnswerSettings::own_soil_observed.
double learn_own_share(const Fit::Reckoning& reckoning, double usual, const AnswerSettings& settings);

/// Sets `p_disputed`, and clusters of at least three disputed stops that all look like the same other unit.
std::vector<StopCluster> find_disputes(const Fit::Reckoning& reckoning, const Testimony& testimony,
                                       const Reckoned& reckoned, std::vector<StopFit>& fits);

}  // namespace subcrop::infer
