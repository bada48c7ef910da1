// From probabilities to verdicts.
#pragma once

#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/fit.hpp"

namespace subcrop::infer {

/// How unusual each stop's soil is for its fitted unit. Fills StopFit::typicality. Returns, for each stop, whether its
/// soil is unlike every unit.
std::vector<std::uint8_t> judge_typicality(const Fit::Reckoning& reckoning, const std::vector<float>& responsibility,
                                           std::vector<StopFit>& stops, unsigned threads);

/// Sets every verdict. The conflicts are the largest set of stops in which the draft is right with a mean probability
/// of at most the false discovery rate. `without_draft`: no stop has a mapped unit; the fitted unit is judged instead.
void set_verdicts(const Fit::Reckoning& reckoning, const std::vector<std::uint8_t>& unlike_any,
                  std::vector<StopFit>& stops, unsigned threads, bool without_draft);

}  // namespace subcrop::infer
