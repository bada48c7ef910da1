// Single misplaced stretches of drafted contact, each tested on its own. A displacement of the whole map must improve
// predictions at hidden blocks. A single wrong stretch in a right draft cannot pass that test, because it improves few
// blocks.
//
// A stretch is displaced by one distance d along the contact's normal. The prior of d is normal; its standard deviation
// is a multiple of the stated error. The stops beside it, tempered as for the displacement, give ln p(d) from the draft
// sampled at x - d n. The odds compare |d| above a part of the stated error with |d| below it. The more stretches are
// tested, the higher the odds must be. Stops form groups with gaps between them along the contact (usually traverses).
// At least three groups are needed, and the odds must hold without any one of them. If the shift is too large for an
// error of the contact, an area is drawn wrong. That is left to a later stage.
#pragma once

#include <vector>

#include "infer/answer/displacement.hpp"
#include "infer/answer/testimony.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/answer_settings.hpp"
#include "subcrop/infer/shift_choice.hpp"

namespace subcrop::infer {

struct StretchInput {
    double stated_sd_m = 25;
    double error_share = 0.01;   ///< share of stops that no displacement explains
    std::vector<double> shares;  ///< share of each unit in the area
    AnswerSettings settings;
};

/// The surest first; stretches of one contact do not overlap. `layer`: the draft blurred by the error that remains
/// after moving.
std::vector<MisplacedStretch> find_misplaced_stretches(const Testimony& testimony, const Seats& seats,
                                                       const std::vector<float>& likelihood,
                                                       const BlurredDraft::Layer& layer, const geo::UnitMap& map,
                                                       const StretchInput& input, unsigned threads);

}  // namespace subcrop::infer
