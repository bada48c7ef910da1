// Contacts of the revised map that the draft does not have: the outlines of areas that were redrawn.
#pragma once

#include <vector>

#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"

namespace subcrop::infer {

/// Of `revised`, what lies outside the 90 % zones of all drawn contacts between the same two units. Pieces shorter than
/// twice the error of contacts are left out. A zone is as wide as the answer changes slowly across its line: at least
/// half of that of a contact left as drawn, at most the mean distance between stops or twice that of such a contact.
std::vector<RedrawnContact> redrawn_contacts(const RevisedMap& revised, const geo::UnitMap& draft, const Fit& fit,
                                             const Relocation& relocation, unsigned threads);

}  // namespace subcrop::infer
