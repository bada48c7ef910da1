// Matches crossings found by the stops with crossings of the draft.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "infer/contacts/crossing_place.hpp"
#include "subcrop/infer/traverse.hpp"

namespace subcrop::infer {

struct FoundCrossing {
    std::size_t gap = 0;  ///< of the decoded change
    model::UnitIndex from = model::no_unit;
    model::UnitIndex to = model::no_unit;
    double probability = 0;
    CrossingPlace place;
};

/// The crossings of the draft from `first` to `last`, inclusive: one, or those into and out of a strip without stops.
struct CrossingMatch {
    std::size_t first = 0, last = 0;
};

/// One entry for each found crossing; empty if the draft has none like it. Crossings with the same change of unit are
/// matched one to one and in order: as many as possible, then as near as possible. The draft's crossing must lie in the
/// 90 % interval, or within `reach_m` of its middle. The rest may cross a strip too narrow for a stop: the stops find A
/// to C, the draft has A to B and B to C. `found` and `mapped` are in order along the traverse. `stops_m`: ascending
/// chainages of the stops with evidence.
std::vector<std::optional<CrossingMatch>> match_crossings(std::span<const FoundCrossing> found,
                                                          std::span<const MappedCrossing> mapped,
                                                          std::span<const double> stops_m, double reach_m);

}  // namespace subcrop::infer
