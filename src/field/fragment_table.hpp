// Words for coarse fragments that the readers and writers of texture share.
#pragma once

#include <array>
#include <string_view>

namespace subcrop::field {

struct FragmentWords {
    std::string_view code;       ///< lower case; Field Book for Describing and Sampling Soils 3.0 (2012), from memory
    std::string_view adjective;  ///< before the class
    std::string_view noun;       ///< instead of the class, where there is hardly any fine earth
    std::string_view one;        ///< a single one
};

/// In the order of FragmentKind.
inline constexpr std::array<FragmentWords, 6> fragment_table{{
    {"gr", "gravelly", "gravel", "pebble"},
    {"cb", "cobbly", "cobbles", "cobble"},
    {"st", "stony", "stones", "stone"},
    {"by", "bouldery", "boulders", "boulder"},
    {"cn", "channery", "channers", "channer"},
    {"fl", "flaggy", "flagstones", "flagstone"},
}};

}  // namespace subcrop::field
