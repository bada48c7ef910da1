// From probabilities to verdicts.
#pragma once

#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/fit.hpp"

namespace subcrop::infer {

/// How unusual each stop's soil is for its fitted unit: fills StopFit::typicality and returns, for each stop, whether
/// it is unlike every unit.
std::vector<std::uint8_t> judge_typicality(const Fit::Reckoning& reckoning, const std::vector<float>& responsibility,
                                           std::vector<StopFit>& stops, unsigned threads);

/// Sets every verdict. Flags the largest set of stops whose mean probability of being right in the draft is at most the
/// false discovery rate.
/// `without_draft`: no stop has a mapped unit, and the fitted one is judged.
void set_verdicts(const Fit::Reckoning& reckoning, const std::vector<std::uint8_t>& unlike_any,
                  std::vector<StopFit>& stops, unsigned threads, bool without_draft);

}  // namespace subcrop::infer
