// What the stops say of each unit: the figures behind a unit's description, and the description itself.
//
//     std::vector<UnitSummary> units = summarise_units(survey, reduced, map, fit, relocation);
//     units[0].moist.chip                 // "7.5YR 4/4": the chip nearest to all that were noted
//     unit_description(survey, units[0])  // a paragraph that says no more than the figures do
//
// Soil is that of the stops where rock of the unit was seen, or that stand on its drafted ground and whose soil was not
// judged to have been carried there. Subsoil stands for the unit's soil, as it does in the reckoning.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/field/texture.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

struct Counted {
    std::string name;
    std::size_t count = 0;
    friend bool operator==(const Counted&, const Counted&) = default;
};

/// What was noted and how often, the commonest first; ties in the order of their names.
struct Tally {
    std::vector<Counted> values;
    std::size_t total() const;
    /// The commonest `most` with their shares: "7.5YR 4/4 (38 % of 21), 10YR 4/4 (19 %)"; empty where there are none.
    std::string text(std::size_t most = 3) const;
};

struct ColourSummary {
    /// Of the 30 commonest chips the one with the least sum of CIEDE2000 differences to all that were noted: a real chip, not
    /// an average of numbers. Empty where none was noted.
    std::string chip;
    Tally chips;  ///< a range or a colour between chips counts as the book's nearest chip
};

struct TextureSummary {
    Tally classes;
    /// Of the grain size of all, in ilr coordinates: mean, and covariance with the width of the classes themselves in it.
    std::optional<field::IlrDistribution> distribution;
};

/// Depths of which some are known only to be greater than the hole was deep.
struct DepthSummary {
    std::optional<double> median_cm;  ///< Kaplan and Meier 1958; absent where only one hole reached it, or fewer than half may have
    std::optional<double> least_cm;   ///< of those reached
    std::optional<double> greatest_cm;
    std::size_t reached = 0;
    std::size_t deeper = 0;  ///< holes that ended above it
};

struct FragmentSummary {
    std::optional<double> median_pct, least_pct, greatest_pct;  ///< of the whole soil by volume
    std::size_t horizons = 0;  ///< that state a percentage
    Tally kinds;
};

struct ProfileSummary {
    struct Horizon {
        std::string name;  ///< capital letters of the designation: "A", "BC"
        std::optional<double> top_cm, bottom_cm;  ///< medians over the stops of the sequence that noted them
    };
    std::vector<Horizon> horizons;  ///< the commonest sequence; like horizons in a row count as one
    std::size_t stops = 0;          ///< that have this sequence
    std::size_t described = 0;      ///< that have designations at all
    std::string text() const;       ///< "A, B, C (14 of 30 profiles): A 0 to 18 cm, B 18 to 55 cm, C from 55 cm"
};

/// Which other unit the soil alone names most often where this one is known to lie.
struct Confusion {
    model::UnitIndex unit = model::no_unit;  ///< no_unit: too few stops, or none was mistaken
    std::size_t taken = 0;   ///< known stops of which the soil alone named `unit`
    std::size_t known = 0;   ///< stops at which this unit is known to lie, each judged without its block of ground
    std::string channel;     ///< the kind of evidence that tells the two apart best; empty: none does
    double channel_factor = 1;  ///< geometric mean, at the known stops of both, of how many times likelier it makes the right one
};

/// How the contacts of a unit are known, by length.
struct ContactsKnown {
    std::size_t contacts = 0;
    double length_m = 0;
    std::array<double, 4> length_of_class_m{};  ///< by LocationClass
    std::size_t elsewhere = 0;  ///< contacts that run elsewhere, in whole or in part
    std::size_t doubtful = 0, untested = 0;  ///< of the others, by review
};

struct UnitSummary {
    model::UnitIndex unit = model::no_unit;
    double area_m2 = 0;
    bool without_draft = false;       ///< the ground is that of a first map
    std::size_t stops = 0;            ///< inside its mapped ground
    std::size_t stops_rock_seen = 0;  ///< where this unit's rock was seen
    std::size_t stops_agree = 0;
    std::size_t stops_conflict = 0;
    ColourSummary moist, dry;         ///< of subsoil horizons
    TextureSummary texture;           ///< of subsoil horizons
    FragmentSummary fragments;        ///< of subsoil horizons
    Tally reaction;                   ///< class codes, the strongest at each stop
    ProfileSummary profile;
    DepthSummary weathered_rock;      ///< top of Cr; stops that met hard rock without it are left out
    DepthSummary rock;                ///< top of the first rock, weathered or not
    std::string plants;               ///< the taxa that indicate it, "heather (IndVal 0.62, p 0.004)"
    Tally parent_materials;           ///< the most probable one at each stop, carried soil included
    Confusion mistaken;
    ContactsKnown contacts;
};

/// One a unit, in legend order.
std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map,
                                         const Fit& fit, const Relocation& relocation);

/// The figures as a paragraph. Nothing is said without the count it rests on, and nothing that was not noted is mentioned.
std::string unit_description(const model::Survey& survey, const UnitSummary& unit);

}  // namespace subcrop::infer
