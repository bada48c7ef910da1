// The proposals of a run as they are shown and written: named, with what was decided on them.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "io/decision_file.hpp"
#include "publish/loop/decisions.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/proposals.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

struct ListedProposal {
    io::DecisionRow row;  ///< as it is written; `note` says why it is shown again, where it is
    std::optional<std::size_t> proposal =
        {};  ///< index into Proposals::list; absent: decided before, no longer proposed
    Point middle;
    std::optional<std::size_t> contact = {};  ///< index into UnitMap::contacts()
    double gain_hectares = 0;
    std::optional<double> nearest_stop_m = {};
    bool open() const { return row.decision == "open"; }
};

/// Named as in the last run, or as when decided, where the matter is the same: one kind, the same units, ground in
/// common. Open ones come first, those that put most ground right before others; then accepted, later, rejected.
///
/// A proposal that was rejected is open again once stops bear on it that did not when it was. One that was accepted,
/// is not in the draft and is no longer proposed is open again on the same condition; else it stays accepted.
std::vector<ListedProposal> list_proposals(const model::Survey& survey, const geo::UnitMap& map,
                                           const infer::Relocation& relocation, const infer::Proposals& proposals,
                                           const KnownProposals& known);

/// How many stand open, accepted, rejected, for later.
struct ProposalCounts {
    std::size_t open = 0, accepted = 0, rejected = 0, later = 0;
    double open_gain_hectares = 0;  ///< that the open ones are expected to put right
};
ProposalCounts counts_of(const std::vector<ListedProposal>& list);

/// Of the unit that a stored proposal names; no_unit: the legend has it no longer.
model::UnitIndex unit_of_code(const model::Survey& survey, std::string_view code);

}  // namespace subcrop::publish
