// Comma-separated values that a spreadsheet opens as they are.
#pragma once

#include <string>
#include <string_view>

namespace subcrop::publish {

/// A text as a cell, quoted by RFC 4180. A spreadsheet would run text with a leading =, +, -, @, tab or line end as a
/// formula. Such text gets an apostrophe before it, because anybody may have written it in the field book.
std::string csv_text(std::string_view text);

/// A number as a cell: the shortest digits that are read back as the same number.
std::string csv_number(double value);

}  // namespace subcrop::publish
