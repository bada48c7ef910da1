// The step of the reckoning in which contacts may move: stops are called as witnesses, a shift field is chosen, and the
// memberships follow it.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "placement.hpp"
#include "reckoning.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/shift_choice.hpp"
#include "subcrop/infer/signature.hpp"

namespace subcrop::infer {

/// The stops that may move contacts.
struct Witnesses {
    std::vector<Witness> list;
    std::vector<model::UnitIndex> seen;
    std::vector<std::uint16_t> folds;
    std::vector<std::uint8_t> taught;  ///< one a stop of the survey
};

Witnesses call_witnesses(const Fit::Reckoning& reckoning, const Training& training, const std::vector<StopFit>& fits);

/// `ground`: share of each unit in the map's ground.
ShiftChoice choose_shift(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const Witnesses& witnesses,
                         std::span<const geo::ContactTrace> traces, const std::vector<double>& ground,
                         unsigned threads);

/// Where the stops lie once the contacts have moved, from where they lay `at_rest`: as far as the field is trusted, on the draft
/// averaged over the displacements still possible. What a stop itself told the field is taken back first, so that it does not
/// speak twice.
Placement moved_placement(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const ShiftField& field,
                          const std::vector<double>& ground, const std::vector<std::uint8_t>& taught, const Placement& at_rest,
                          unsigned threads);

}  // namespace subcrop::infer
