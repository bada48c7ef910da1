// Common functions of the readers of written notes.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace subcrop::field {

/// Spaces, dashes, slashes and primes of Unicode become their ASCII kin, tabs and line ends become spaces; the
/// byte-order mark and invisible joiners go.
std::string plain_marks(std::string_view text);

/// ASCII letters only; other bytes stay.
std::string lower(std::string_view text);

/// Without white space at either end.
std::string_view trimmed(std::string_view text);

/// Split at spaces and at any of `also`; no empty words.
std::vector<std::string> words(std::string_view text, std::string_view also = {});

/// Each run of spaces made one, none at either end.
std::string single_spaced(std::string_view text);

/// Letters to add, drop, change or swap with the next one to make one word the other.
std::size_t edit_distance(std::string_view first, std::string_view second);

/// A number as a person would write it: only the decimals it has, up to a maximum.
std::string plain_number(double number, int max_decimals = 6);

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }
constexpr bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }
constexpr bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
constexpr bool is_letter(char c) { return is_upper(c) || is_lower(c); }

}  // namespace subcrop::field
