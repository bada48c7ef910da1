// An order in which to visit places on foot.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/next_stops.hpp"

namespace subcrop::infer {

/// A short open walk past all of them, as the crow flies: from each start always to the nearest place not yet visited.
/// The shortest of these walks is improved by 2-opt (parts are reversed until no reversal helps). The end nearer to the
/// first place given comes first.
std::vector<std::size_t> short_walk(std::span<const Point> places);

/// Gives each stop its number in such a walk, from 1.
void number_walk(std::vector<NextStop>& stops);

}  // namespace subcrop::infer
