// Column names for tables with at most ten characters for each.
#pragma once

#include <string>
#include <vector>

namespace subcrop::publish {

/// The longest name in the attribute table of a shapefile (dBASE III).
inline constexpr std::size_t longest_short_name = 10;

/// One for each name, in order: the name itself if short enough, else a shorter one that is still readable. No two are
/// equal, ignoring case. Names are ASCII.
std::vector<std::string> short_names(const std::vector<std::string>& names);

}  // namespace subcrop::publish
