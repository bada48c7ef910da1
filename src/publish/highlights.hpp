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

/// Half way along, so that she can find the stretch.
Point middle_of(const geo::Contact& contact);

/// Stops that conflict, the one whose mapped unit is least probable first; equals in survey order.
std::vector<Highlight> strongest_conflicts(const model::Survey& survey, const infer::Fit& fit, std::size_t most);

/// Contacts reviewed as in doubt or to be moved that stops lie beside, the one with most evidence against it first;
/// equals in map order.
std::vector<Highlight> contacts_in_doubt(const model::Survey& survey, const geo::UnitMap& map, const infer::Fit& fit,
                                         const infer::Relocation& relocation, std::size_t most);

/// Contacts that should move although no stop lies beside them: stops farther off say so.
std::size_t moved_without_stops(const infer::Fit& fit, const infer::Relocation& relocation);

/// Open proposals in their order: what to do, how sure that is, what it rests on, why it is shown again.
std::vector<Highlight> open_proposals(const std::vector<ListedProposal>& listed, std::size_t most);

/// Disputed ground in its own order.
std::vector<Highlight> plainest_disputes(const model::Survey& survey, const std::vector<infer::DisputedArea>& disputed,
                                         std::size_t most);

/// "540082 east, 6230801 north: contact Kb | Os, known to 66 m, to about 51 m after it".
std::string in_short(const model::Survey& survey, const geo::UnitMap& map, const infer::NextStop& next);

}  // namespace subcrop::publish
