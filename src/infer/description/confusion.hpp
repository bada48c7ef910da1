// Which units soil alone confuses, and which evidence distinguishes them.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

struct BestChannel {
    std::string name;   ///< empty: none does, or fewer than 5 known stops have a value
    double factor = 1;  ///< geometric mean of its likelihood ratio for the right one
};
/// The channel that, on average, best supports the right one of two units at stops known to lie on either.
BestChannel best_channel(const Fit::Reckoning& reckoning, std::span<const std::size_t> known, model::UnitIndex a,
                         model::UnitIndex b);

/// The stops whose unit is known. They are few, so they are collected once.
std::vector<std::size_t> known_stops(const Fit::Reckoning& reckoning);

/// One for each unit. Known stops have observed bedrock or lie far from contacts, as for the printed skill.
std::vector<Confusion> confusions(const Fit::Reckoning& reckoning);

}  // namespace subcrop::infer
