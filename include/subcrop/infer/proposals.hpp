// Proposed changes of the draft, to accept or reject one by one.
//
//     Proposals proposals = propose(survey, map, fit, relocation, revised, threads);
//     accepted.assign(proposals.changes.areas().size(), 0);  // the first, which puts most area right, is accepted:
//     for (std::uint32_t area : proposals.list[0].areas) accepted[area] = 1;
//
// Proposals are the differences between the draft and the revised map. All differences along one moving contact are one
// proposal. So are all that give one area to another unit. The draft with all proposals is the revised map, with three
// exceptions: areas below `crumb_m2`, areas off the draft, and changes without an expected gain. Other proposals are
// questions that change no line: contacts that may not exist, and stops whose notes need a second look.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/geo/map_changes.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

enum class ProposalKind : std::uint8_t {
    move_contact,      ///< land along a contact goes to the unit across it
    redraw_area,       ///< an area goes to another unit
    doubtful_contact,  ///< the same unit seems to lie on both sides
    second_look,       ///< a stop's note does not fit with its surroundings
};
inline constexpr std::size_t proposal_kind_count = 4;
std::string_view to_string(ProposalKind kind);
std::string_view description(ProposalKind kind);

struct Proposal {
    ProposalKind kind = ProposalKind::redraw_area;
    /// For an area: most of it is drawn as `from` and goes to `to`. For a contact: its units, the lower index first.
    /// For a stop: the mapped unit (or none) and the observed unit (or none).
    model::UnitIndex from = model::no_unit, to = model::no_unit;
    MultiPolygon ground;  ///< the area that changes; for a doubtful contact its 90 % zone, for a stop a disc about it
    Point middle;
    /// Probability of the proposed unit, mean over the area. For a stop: probability that the observed unit is wrong.
    /// Absent: unknown.
    std::optional<double> probability = {};
    double area_m2 = 0;                       ///< that changes
    double gain_m2 = 0;                       ///< expected to be corrected: integral of P(proposed) - P(drafted)
    std::vector<std::uint32_t> stops = {};    ///< that bear on it (inside, or within `reach_m`), in survey order
    double nearest_stop_m = 0;                ///< 0: inside
    std::vector<std::uint32_t> areas = {};    ///< of Proposals::changes
    std::optional<std::size_t> contact = {};  ///< index into UnitMap::contacts()
    /// The stop to look at again. Or the one stop, sure of its unit, about which an area is drawn. The probability is
    /// then the stop's. No gain is stated, because the extent of the unit is unknown.
    std::optional<std::size_t> stop = {};
};

struct Proposals {
    std::vector<Proposal> list;  ///< sorted by gain, the largest first
    geo::MapChanges changes;
    double reach_m = 0;  ///< stops within this distance of a proposal bear on it
};

/// Smaller areas are left as drawn.
inline constexpr double crumb_m2 = 25;

/// Stops inside the area or within `reach_m` of it, in survey order.
std::vector<std::uint32_t> stops_that_bear(const model::Survey& survey, const MultiPolygon& ground, double reach_m);

/// Metres to the nearest part of the area; 0 inside.
double distance_to(const MultiPolygon& ground, Point place);

/// Empty if the answer for the whole map was not computed. The result does not depend on `threads`.
Proposals propose(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                  const RevisedMap& revised, unsigned threads);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
