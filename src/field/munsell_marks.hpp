// A written colour cut into marks: numbers, letters and signs. Words that name no colour are removed, moisture is
// noted.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/field/munsell.hpp"

namespace subcrop::field {

inline constexpr std::string_view munsell_example = "Write hue, value/chroma, such as 10YR 5/6.";

/// Thrown inside the reader, where a note cannot be read; never leaves it.
struct MunsellRefusal {
    std::string message;
    std::string remedy;
};

enum class MarkKind : std::uint8_t { number, letters, slash, dash, to, end };

struct Mark {
    MarkKind kind = MarkKind::end;
    std::string text = {};
    double number = 0;
};

/// A note in parts, with its words besides the colour.
struct CutNote {
    std::vector<std::vector<Mark>> colours;  ///< split at commas, semicolons, 'and'
    std::vector<Moisture> moistures;         ///< of each of them
    bool mended = false;                     ///< letters were written for figures
    std::vector<std::string> remarks;
};

/// Throws MunsellRefusal at a sign no notation has.
CutNote cut_up(std::string_view written);

}  // namespace subcrop::field
