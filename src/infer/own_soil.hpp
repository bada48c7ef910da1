// How far a stop's own soil is believed beside the draft.
#pragma once

#include <span>
#include <vector>

#include "reckoning.hpp"
#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

/// Prior of each unit at a stop: the draft's membership with the share of ground where it is wrong in no smooth way; off the
/// map no more than how common each unit is. Returns the probability of being on the map.
double prior_at(std::span<const float> membership, std::span<const double> ground, double error_share, std::span<double> prior);

/// Sets the shares by which stops' own soil counts: three quarters where the field moved the draft, and all over as
/// much as predicts the rock seen best from soil and draft together, where 20 stops or more saw rock. That is one number in
/// [0.2, 1], with a normal prior around 1 of standard deviation 0.3: soils that resemble their neighbours' claim more than they know.
void believe_own_soil(Fit::Reckoning& reckoning, const ShiftField& field, const std::vector<float>& membership,
                      const std::vector<double>& ground, unsigned threads);

}  // namespace subcrop::infer
