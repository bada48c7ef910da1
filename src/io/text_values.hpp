// What people write in cells, turned into numbers, yes or no, and clean text.
#pragma once

#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/parsed.hpp"

namespace subcrop::io {

/// What a number in a column counts; a unit written behind it is this one, or for lengths another of length.
enum class Unit { none, percent, centimetres, millimetres, metres, degrees };

/// What a number of a column may be.
struct NumberRule {
    Unit unit = Unit::none;
    double least = -std::numeric_limits<double>::infinity();
    double most = std::numeric_limits<double>::infinity();
};

/// Without spaces, tabs, line ends and no-break spaces at either end.
std::string_view trimmed(std::string_view text);

/// True where the bytes are valid UTF-8.
bool is_utf8(std::string_view text);
/// Bytes taken as Windows-1252, which holds ISO-8859-1.
std::string utf8_from_latin1(std::string_view text);

/// Reads "12", "12.5", "12,5", "1.2e3", "12 %", "10 in", "~12", "+-5", "< 5" (half), "> 90" and "90+" (the limit),
/// "5-10" (the mean, and half of its width in `half_range`). Whatever is not plain carries a message that says how it
/// was read. `text` is trimmed and not empty.
Parsed<double> read_number(std::string_view text, Unit unit, double* half_range = nullptr);

/// yes, y, true, 1, x, complete...; no, n, false, 0...; nothing: neither.
std::optional<bool> read_yes_no(std::string_view text);

/// Items between semicolons, trimmed, empty ones left out.
std::vector<std::string> split_list(std::string_view text);

/// Shortest decimal form that reads back the same, such as "7.5"; whole numbers without a point.
std::string number_text(double value);

}  // namespace subcrop::io
