// Which units the soil alone takes for one another, and what tells them apart.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

struct BestChannel {
    std::string name;   ///< empty: none tells them apart, or fewer than 5 known stops have a value
    double factor = 1;  ///< geometric mean of how many times likelier it makes the right one
};
/// The channel that on average makes the right one of two units likeliest at the stops where either is known to lie.
BestChannel best_channel(const Fit::Reckoning& reckoning, std::span<const std::size_t> known, model::UnitIndex a,
                         model::UnitIndex b);

/// The judges of the reckoning: stops where some unit is known to lie. Few beside all, so they are gathered once.
std::vector<std::size_t> known_stops(const Fit::Reckoning& reckoning);

/// One a unit. Known stops are the judges of the reckoning (rock seen, or far from contacts), as held-out skill has
/// them.
std::vector<Confusion> confusions(const Fit::Reckoning& reckoning);

}  // namespace subcrop::infer
