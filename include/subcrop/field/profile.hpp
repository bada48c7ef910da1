// Horizon designations: which part of the profile a horizon is, and from which parent material it came.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// The parts of a profile that carry evidence of their own.
enum class Zone : std::uint8_t {
    none,             ///< O: litter is no evidence on the rock; nor is material moved by people (^)
    topsoil,          ///< A, E, AE ...
    subsoil,          ///< B, AB, EB, BA ...
    parent_material,  ///< C, BC, CB, AC, Cr: of several letters the deepest decides
    rock,             ///< R
};

struct Designation {
    int parent_material = 1;       ///< the numeric prefix: 2 in "2Bt1" is the second material from the top
    bool moved_by_people = false;  ///< a caret stands before it
    std::string masters;           ///< capital letters in order: "B", "BC", "E/B" gives "EB"
    bool mixed = false;            ///< written with a stroke: parts of both horizons lie side by side
    std::string suffixes;          ///< lower-case letters: "t"
    int primes = 0;                ///< of two equal horizons the lower has one prime: "E'"
    std::string number;            ///< subdivision: "2" in "Bt2"
    Zone zone = Zone::none;
    bool zero_for_letter = false;  ///< the figure 0 was written for the letter O

    /// Cr, and C of a rock that a spade still cuts.
    bool weathered_rock() const {
        return masters.find('C') != std::string::npos && suffixes.find('r') != std::string::npos;
    }
};

/// A capital letter of a designation.
struct MasterHorizon {
    char letter;
    std::string_view meaning;
};

/// From the surface down; Soil Survey Manual 2017, chapter 3.
std::span<const MasterHorizon> master_horizons();

/// Reads a designation of the Soil Survey Manual's system, such as "Ap", "Bt2", "2BCg", "E/B", "Cr", "R".
Parsed<Designation> parse_designation(std::string_view text);

/// Without a designation: by mid-depth in centimetres, topsoil above 25, subsoil above 75 (common practice, no source);
/// without depths either: subsoil.
Zone zone_of_depth(std::optional<double> top_cm, std::optional<double> bottom_cm);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
