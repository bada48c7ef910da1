// Comma-separated values that a spreadsheet opens as they are.
#pragma once

#include <string>
#include <string_view>

namespace subcrop::publish {

/// A text as a cell, quoted where RFC 4180 asks for it. Text that a spreadsheet would run as a formula (a leading =, +,
/// -, @, tab or line end) gets an apostrophe before it, for it comes from whoever filled in the field book.
std::string csv_text(std::string_view text);

/// A number as a cell: the shortest digits that give it back.
std::string csv_number(double value);

}  // namespace subcrop::publish
