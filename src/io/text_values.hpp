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
enum class Unit {
    none,
    percent,
    degrees,
    millimetres,
    centimetres,
    decimetres,
    metres,
    inches,
    feet,            ///< international, 0.3048 m
    us_survey_feet,  ///< 1200/3937 m
};

/// What a number of a column may be.
struct NumberRule {
    Unit unit = Unit::none;
    double least = -std::numeric_limits<double>::infinity();
    double most = std::numeric_limits<double>::infinity();
};

/// The unit that a word names: "cm", "feet", "%"; none: it names none.
Unit unit_named(std::string_view word);
/// As it is written behind a number: "cm", "ft", "%"; empty for none.
std::string_view short_name(Unit unit);
/// In words: "feet".
std::string_view name_of(Unit unit);
/// Whether numbers in one unit can be brought to the other: lengths to lengths, percent to degrees.
bool convertible(Unit from, Unit to);
/// A number in another unit. The two must be convertible. Rounded to a millionth, so that it reads as it was meant.
double converted(double value, Unit from, Unit to);
/// The unit at the end of a column's name ("top_cm", "depth (in)", "slope [%]"), and the name without it.
struct NameWithUnit {
    std::string name;  ///< lower case
    Unit unit = Unit::none;
};
NameWithUnit split_unit(std::string_view column);

/// Of a text that begins as a dash does.
bool is_all_dashes(std::string_view text);
/// A dash of any length alone in a cell: no value. Asked of every cell.
inline bool is_dash(std::string_view text) {
    return !text.empty() && (text.front() == '-' || text.front() == '\xE2') && is_all_dashes(text);
}

/// Of a short text.
bool is_word_for_no_value(std::string_view text);
/// "n/a", "nd", "?" and the like: probably no value. Asked of every cell with a note.
inline bool may_be_no_value(std::string_view text) {
    constexpr std::size_t longest = 6;
    return !text.empty() && text.size() <= longest && is_word_for_no_value(text);
}
/// What is said once of so many such cells of a column.
std::string empty_words_message(std::size_t cells);

/// Without spaces, tabs, line ends and no-break spaces at either end.
std::string_view trimmed(std::string_view text);

/// True where the bytes are valid UTF-8.
bool is_utf8(std::string_view text);
/// Bytes taken as Windows-1252, which holds ISO-8859-1.
std::string utf8_from_latin1(std::string_view text);

/// Reads "12", "12.5", "12,5", "1.2e3", "12 %", "10 in", "1'6\"", "~12", "+-5", "< 5" (half), "> 90" and "90+" (the
/// limit), "5-10" (the mean, and half of its width in `half_range`). Whatever is not plain carries a message that says
/// how it was read. `text` is trimmed and not empty.
Parsed<double> read_number(std::string_view text, Unit unit, double* half_range = nullptr);

/// yes, y, true, 1, x, complete...; no, n, false, 0...; nothing: neither.
std::optional<bool> read_yes_no(std::string_view text);

/// Items between semicolons, trimmed, empty ones left out.
std::vector<std::string> split_list(std::string_view text);

/// Shortest decimal form that reads back the same, such as "7.5"; whole numbers without a point.
std::string number_text(double value);

}  // namespace subcrop::io
