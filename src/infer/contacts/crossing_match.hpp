// Which crossing of the draft each crossing that the stops find stands for.
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

/// The crossings of the draft from `first` to `last`, both included: one, or those into and out of a strip in which no
/// stop stands.
struct CrossingMatch {
    std::size_t first = 0, last = 0;
};

/// One entry a found crossing; empty where the draft has none like it. Pairs of the same change are matched one to one
/// and in their order, as many and as near as may be, where the draft's lies within the 90 % interval or no farther
/// than `reach_m` from its middle. What is left may be a change across a strip so narrow that no stop stands in it: the
/// stops find A to C where the draft has A to B and B to C. `found` and `mapped` are in order along the traverse;
/// `stops_m` are the chainages, ascending, of stops that speak.
std::vector<std::optional<CrossingMatch>> match_crossings(std::span<const FoundCrossing> found,
                                                          std::span<const MappedCrossing> mapped,
                                                          std::span<const double> stops_m, double reach_m);

}  // namespace subcrop::infer
