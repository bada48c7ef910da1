// The few results worth naming on a screen.
#pragma once

#include <cstddef>
#include <vector>

#include "publish/loop/proposal_list.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/disputed_area.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

/// Half way along, so that the user can find the stretch.
Point middle_of(const geo::Contact& contact);

/// Stops that conflict, the one whose mapped unit is least probable first; equals in survey order.
std::vector<Highlight> strongest_conflicts(const model::Survey& survey, const infer::Fit& fit, std::size_t most);

/// Contacts in doubt or to be moved, with stops beside them. The one with most evidence against it comes first; equals
/// in map order.
std::vector<Highlight> contacts_in_doubt(const model::Survey& survey, const geo::UnitMap& map, const infer::Fit& fit,
                                         const infer::Relocation& relocation, std::size_t most);

/// Contacts that should move although they have no stops beside them: inferred from neighbouring contacts.
std::size_t moved_without_stops(const infer::Fit& fit, const infer::Relocation& relocation);

/// Open proposals in their order: what to do, how sure it is, the evidence, and why it is shown again.
std::vector<Highlight> open_proposals(const std::vector<ListedProposal>& listed, std::size_t most);

/// Disputed areas in their own order.
std::vector<Highlight> plainest_disputes(const model::Survey& survey, const std::vector<infer::DisputedArea>& disputed,
                                         std::size_t most);

/// "540082 east, 6230801 north: contact Kb | Os, located to ± 66 m (90 %). One stop here should narrow it to ± 51 m."
std::string in_short(const model::Survey& survey, const geo::UnitMap& map, const infer::NextStop& next);

}  // namespace subcrop::publish
