// Stretches of drafted contact that the stops beside them put elsewhere, each asked for itself. A displacement of the
// whole map is adopted where hidden ground asks for it; a single wrong stretch in a right draft cannot pass that test,
// since it gains on few blocks of ground.
//
// A stretch is displaced by one distance d along the contact's normal, a priori normal with a standard deviation in
// stated errors. The stops beside it, tempered as for the displacement, give ln p(d) by the draft sampled at x - d n.
// The odds are those of |d| beyond a part of the stated error against less; the more stretches there are to ask, the
// higher they must be. Stops along the contact are taken in groups that lie apart along it (traverses, as a rule):
// fewer than three groups tell nothing, and without any one of them the odds must not turn. Where the stops ask for a
// shift too large for an error of the contact, an area is drawn wrong, which is for a later stage.
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
    double error_share = 0.01;   ///< of stops that no displacement explains
    std::vector<double> shares;  ///< of the area, one a unit
    AnswerSettings settings;
};

/// The surest first; those of one contact do not overlap. `layer`: the draft, blurred by what remains once moved.
std::vector<MisplacedStretch> find_misplaced_stretches(const Testimony& testimony, const Seats& seats,
                                                       const std::vector<float>& likelihood,
                                                       const BlurredDraft::Layer& layer, const geo::UnitMap& map,
                                                       const StretchInput& input, unsigned threads);

}  // namespace subcrop::infer
