// The name a person probably meant, for messages.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// ASCII lower case; other bytes stay.
std::string lower(std::string_view text);

/// Smallest number of letters changed, added, dropped or swapped with their neighbour that turns one name into the
/// other, ASCII case aside.
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The candidates from the nearest to the farthest; equally near ones keep their order.
std::vector<std::string> by_nearness(std::string_view wanted, std::span<const std::string> candidates);

/// The nearest candidate if near enough to be a slip of the pen, else empty.
std::string nearest_name(std::string_view wanted, std::span<const std::string> candidates);

/// "Did you mean 'columns'? " or empty.
std::string did_you_mean(std::string_view wanted, std::span<const std::string> candidates);

/// "a, b, c"; beyond `most` names "and 12 more".
std::string listed(std::span<const std::string> names, std::size_t most = 30);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
