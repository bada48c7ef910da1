// Column names for tables that hold ten characters of each.
#pragma once

#include <string>
#include <vector>

namespace subcrop::publish {

/// The longest name that the attribute table of a shapefile holds (dBASE III).
inline constexpr std::size_t longest_short_name = 10;

/// One for each name, in their order: the name itself where it is short enough, else a shorter one that can still be
/// read. No two are alike, capitals or not. Names are ASCII.
std::vector<std::string> short_names(const std::vector<std::string>& names);

}  // namespace subcrop::publish
