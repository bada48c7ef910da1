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
    io::DecisionRow row;  ///< as written; `note` says why it is shown again, if it is
    std::optional<std::size_t> proposal =
        {};  ///< index into Proposals::list; absent: decided before, no longer proposed
    Point middle;
    std::optional<std::size_t> contact = {};  ///< index into UnitMap::contacts()
    double gain_hectares = 0;
    std::optional<double> nearest_stop_m = {};
    bool open() const { return row.decision == "open"; }
};

/// A proposal keeps the id of the last run, or of its decision, if kind and units are the same and the areas overlap.
/// Open ones come first, by gain, then accepted, later, rejected.
///
/// A rejected proposal is open again if stops bear on it that did not at the time of the decision. The same holds for
/// an accepted one that is not in the draft and no longer proposed; otherwise it stays accepted.
std::vector<ListedProposal> list_proposals(const model::Survey& survey, const geo::UnitMap& map,
                                           const infer::Relocation& relocation, const infer::Proposals& proposals,
                                           const KnownProposals& known);

/// How many stand open, accepted, rejected, for later.
struct ProposalCounts {
    std::size_t open = 0, accepted = 0, rejected = 0, later = 0;
    double open_gain_hectares = 0;  ///< expected to be corrected by the open ones
};
ProposalCounts counts_of(const std::vector<ListedProposal>& list);

/// Index of the unit that a stored proposal names; no_unit: it is no longer in the legend.
model::UnitIndex unit_of_code(const model::Survey& survey, std::string_view code);

}  // namespace subcrop::publish
