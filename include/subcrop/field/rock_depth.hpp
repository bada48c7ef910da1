// Depth to rock: as designated, inferred from notes that increase downward, or just "deeper than the hole".
//
//     std::vector<RockCues> profile(3);
//     profile[0].bottom_cm = profile[1].top_cm = 20;
//     profile[1].bottom_cm = profile[2].top_cm = 55;
//     profile[2].zone = Zone::rock;
//     RockDepth depth = rock_depth(profile, "");  // basis designated, depth_cm 55
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/field/profile.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// Notes on one horizon that show how near the rock is, from the top down.
struct RockCues {
    std::optional<double> top_cm;
    std::optional<double> bottom_cm;
    Zone zone = Zone::subsoil;
    bool weathered_rock = false;  ///< Cr
    std::optional<double> fragments_pct;
    std::string_view fragment_kind;
    std::string_view minerals;
};

struct RockDepth {
    enum class Basis : std::uint8_t {
        unknown,      ///< no depth was noted
        designated,   ///< the top of an R or Cr horizon
        refusal,      ///< the notes say that spade or auger could go no further
        inferred,     ///< from stones or fresh minerals that increase downward
        deeper_than,  ///< the profile ends above the rock: `low_cm` is its end
    };
    Basis basis = Basis::unknown;
    std::optional<double> weathered_cm;  ///< top of weathered rock (Cr) where designated
    std::optional<double> depth_cm;      ///< top of the first rock, weathered or not; the best estimate
    double low_cm = 0;                   ///< 90 % range (common practice, no source)
    std::optional<double> high_cm;       ///< absent: no upper bound
    std::string because;                 ///< "sandstone fragments grow from 20 to 60 %"

    bool reached() const { return basis == Basis::designated || basis == Basis::refusal; }
};

std::string_view to_string(RockDepth::Basis basis);

/// The first available cue decides: designation, refusal, stones, minerals. Stones: fragments of one kind increase
/// downward through two or more horizons, by 15 % or more. Rock is then where the line through them reaches 90 %
/// (range: 75 % to half as deep again below the hole). Minerals: fresh mica or feldspar only in the lowest horizon
/// means rock within 50 cm below it. These figures are common practice, no source.
RockDepth rock_depth(std::span<const RockCues> horizons, std::string_view notes);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
