// A place as people write it, cut into numbers, marks and words: what `written_place` reads.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace subcrop::field {

enum class PlaceSort { number, degree, minute, second, colon, separator, sign, compass, axis, metres, utm };

struct PlaceToken {
    PlaceSort sort = PlaceSort::number;
    double value = 0;
    bool whole = true;  ///< a number without decimals
    bool leading_zero = false;
    char letter = 0;          ///< N, S, E or W; of an axis A (latitude) or O (longitude); of a sign + or -
    bool one_letter = false;  ///< a compass point written as a letter
    bool touches = false;     ///< nothing is between it and the token before
    std::string text;
};

/// Why a text is no place; thrown.
struct PlaceFailure {
    std::string message, remedy;
};

inline constexpr const char* how_degrees =
    "Write it such as 45.20575 N 3.67 E, 45°12'20.7\"N 3°40'12\"E or 45 12.345 N 3 40.2 E.";

[[noreturn]] void no_place(std::string message, std::string remedy = how_degrees);

struct PlaceTokens {
    std::vector<PlaceToken> tokens;  ///< one at least
    std::string text;                ///< what they were cut from, its marks made plain
    bool metres = false;             ///< a number in it is too large for degrees
};
PlaceTokens place_tokens(std::string_view written);

}  // namespace subcrop::field
