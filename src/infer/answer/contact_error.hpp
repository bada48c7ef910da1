// The error of the draft's contacts, learnt from the stops.
//
// B^s: the draft blurred by an error s. q: the units' shares of the area. e: the share of stops that no error explains.
// A stop's evidence c then has the probability sum over units of ((1 - e) B^s + e q) c. Soil is tempered, because
// neighbours repeat one another. s maximises the product over stops times a log-normal prior about the stated error.
// Ten values are computed, with a smooth curve through them in ln s.
#pragma once

#include <span>
#include <vector>

#include "infer/answer/testimony.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/answer.hpp"
#include "subcrop/infer/answer_settings.hpp"

namespace subcrop::infer {

/// Result in metres. `units`: those of the testimony, in its order; `shares`: their shares of the area. Of more than
/// 20,000 stops a random 20,000 are used; stops with observed bedrock always. With fewer of these than
/// AnswerSettings::min_observed, the result is at most the stated error.
double learn_contact_error(const Testimony& testimony, const geo::UnitMap& map, std::span<const model::UnitIndex> units,
                           const std::vector<double>& shares, double stated_m, const AnswerSettings& settings,
                           unsigned threads);

/// The error of contacts left as drawn that zones use, metres: between the learnt and the stated one, never below the
/// learnt one.
double zone_error_m(double learnt_m, double stated_m, const AnswerSettings& settings);

/// The part of it that remains where contacts moved, whatever the stops tell: bends that no smooth displacement has.
/// `residual_m`: that of the displacement. What a draft errs beyond the stated error is taken for displacement.
double zone_residual_m(double residual_m, double zone_error_m, double stated_m, const AnswerSettings& settings);

}  // namespace subcrop::infer
