// What the answer would change in the draft, as proposals to accept or reject one by one.
//
//     Proposals proposals = propose(survey, map, fit, relocation, revised, threads);
//     accepted.assign(proposals.changes.areas().size(), 0);  // the first, which puts most area right, is accepted:
//     for (std::uint32_t area : proposals.list[0].areas) accepted[area] = 1;
//
// Proposals are the differences between the draft and the revised map: those along one contact that moves are one
// proposal, those that give one area to another unit are one. So the draft with all of them is the revised map, but
// for crumbs (`crumb_m2`), for what lies off the draft, and for changes of which the answer expects no gain. Beside
// these stand questions that no line answers: contacts that may not exist and stops whose notes deserve a second look.
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
    move_contact,      ///< ground along a contact goes to the unit across it
    redraw_area,       ///< an area goes to another unit
    doubtful_contact,  ///< the same unit seems to lie on both sides
    second_look,       ///< a stop's note and all that lies about it do not go together
};
inline constexpr std::size_t proposal_kind_count = 4;
std::string_view to_string(ProposalKind kind);
std::string_view description(ProposalKind kind);

struct Proposal {
    ProposalKind kind = ProposalKind::redraw_area;
    /// Of an area: most of it is drawn as `from`, and goes to `to`. Of a contact: its units, the lower index first. Of
    /// a stop: the mapped unit (or none) and the unit observed there (or none).
    model::UnitIndex from = model::no_unit, to = model::no_unit;
    MultiPolygon ground;  ///< that changes; of a contact in doubt its 90 % zone, of a stop a disc about it
    Point middle;
    /// That the proposed unit lies there, mean over the area; of a stop, that another unit than the one observed
    /// does. Absent: the answer does not tell.
    std::optional<double> probability = {};
    double area_m2 = 0;  ///< that changes
    double gain_m2 = 0;  ///< that is expected to be put right: integral of P(proposed) - P(drafted)
    std::vector<std::uint32_t> stops =
        {};                     ///< that bear on it, in survey order: inside, or no farther off than `reach_m`
    double nearest_stop_m = 0;  ///< 0: inside
    std::vector<std::uint32_t> areas = {};    ///< of Proposals::changes
    std::optional<std::size_t> contact = {};  ///< index into UnitMap::contacts()
    /// That is looked at again; or about which alone an area is drawn, being sure of its unit. The probability is then
    /// that at the stop, and nothing is said to be gained, since how far the unit reaches nothing tells.
    std::optional<std::size_t> stop = {};
};

struct Proposals {
    std::vector<Proposal> list;  ///< those that put most area right first
    geo::MapChanges changes;
    double reach_m = 0;  ///< stops no farther from a proposal than this bear on it
};

/// Smaller areas are left as drawn.
inline constexpr double crumb_m2 = 25;

/// Stops inside the area or no farther from it than `reach_m`; in survey order.
std::vector<std::uint32_t> stops_that_bear(const model::Survey& survey, const MultiPolygon& ground, double reach_m);

/// Metres to the nearest part of the area; 0 inside.
double distance_to(const MultiPolygon& ground, Point place);

/// Nothing where the answer for the whole map was not asked for. The result does not depend on `threads`.
Proposals propose(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                  const RevisedMap& revised, unsigned threads);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
