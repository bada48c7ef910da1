// What the stops show about each unit: the figures of its description, and the description itself.
//
//     std::vector<UnitSummary> units = summarise_units(survey, reduced, map, fit, relocation, {});
//     std::string chip = units[0].moist.chip;                  // "5YR 4/6": the chip nearest to all that were noted
//     std::string words = unit_description(survey, units[0]);  // a paragraph that says no more than the figures do
//
// Each stop counts for a unit by its probability of lying on it (draft, stops around, its own soil, observed bedrock).
// For bedrock units, soil that was probably transported counts less. So a conflicting stop counts for the unit that it
// probably lies on. The unit's soil is described by its subsoil.
//
// Not good at: showing how much soils vary. A stop with unusual soil for its unit counts less. `DescribedBy::draft`
// counts every stop in full for the unit drawn there.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Which stops count for a unit.
enum class DescribedBy : std::uint8_t {
    posterior,  ///< each stop counts by its probability of lying on the unit, given everything
    draft,      ///< each stop counts in full for the observed unit, else for the drawn one
};

struct UnitSummaryOptions {
    DescribedBy described_by = DescribedBy::posterior;
    unsigned threads = 1;
};

/// With DescribedBy::posterior every count is a sum of probabilities, so it may be no whole number.
struct Counted {
    std::string name;
    double count = 0;
    friend bool operator==(const Counted&, const Counted&) = default;
};

/// "23"; "about 23" where it is no whole number.
std::string about(double count);
/// "1 stop", "about 23 stops".
std::string about(double count, const char* one, const char* several);

/// The values noted and how often, the commonest first; ties by name.
struct Tally {
    std::vector<Counted> values;
    double total() const;
    /// The commonest `most` with their shares: "7.5YR 4/4 (38 % of 21), 10YR 4/4 (19 %)"; empty if there are none.
    /// Values below half a percent are left out.
    std::string text(std::size_t most = 3) const;
};

/// Words; a stop may have several.
struct SetTally {
    std::vector<Counted> values;                   ///< the commonest first
    double stops = 0;                              ///< stops that named any
    std::string text(std::size_t most = 3) const;  ///< "olivine (60 % of about 12 stops), mica (22 %)"
};

struct ColourSummary {
    /// The chip, of the 30 commonest, with the smallest sum of CIEDE2000 differences to all noted chips. So it is a
    /// real chip, not an average of numbers. Empty if none was noted.
    std::string chip;
    Tally chips;  ///< a range or a colour between chips counts as the book's nearest chip
};

struct TextureSummary {
    Tally classes;
    /// Mean and covariance of all grain sizes, in ilr coordinates. The covariance includes the width of the classes.
    std::optional<field::IlrDistribution> distribution;
};

/// Depths, some of them censored: known only to be greater than the depth of the hole.
struct DepthSummary {
    std::optional<double>
        median_cm;  ///< Kaplan and Meier 1958; absent if only one hole reached it, or perhaps fewer than half
    /// 90 % interval of the median (Brookmeyer and Crowley 1982). The upper end may be absent.
    std::optional<double> low_cm, high_cm;
    std::optional<double> min_cm;  ///< of depths reached, at stops with more than even odds of the unit
    std::optional<double> max_cm;
    double reached = 0;
    double deeper = 0;  ///< holes that ended above the rock
    friend bool operator==(const DepthSummary&, const DepthSummary&) = default;
};

struct FragmentSummary {
    std::optional<double> median_pct, min_pct, max_pct;  ///< of the whole soil by volume
    double horizons = 0;                                 ///< horizons with a percentage
    Tally kinds;
};

struct ProfileSummary {
    struct Horizon {
        std::string name;                               ///< capital letters of the designation: "A", "BC"
        std::optional<double> top_cm, bottom_cm;        ///< medians over the stops of this sequence that noted them
        std::optional<double> top_low_cm, top_high_cm;  ///< quartiles of the top
        std::string chip;                               ///< middle of its moist colours; empty if none was noted
    };
    std::vector<Horizon> horizons;  ///< the commonest sequence; like horizons in a row count as one
    double stops = 0;               ///< stops with this sequence
    double described = 0;           ///< stops with any designations
    std::string text() const;       ///< "A, B, C (14 of 30 profiles): A 0 to 18 cm, B 18 to 55 cm, C from 55 cm"
};

/// The other unit that soil alone names most often at stops known to lie on this unit.
struct Confusion {
    model::UnitIndex unit = model::no_unit;  ///< no_unit: too few stops, or no mistakes
    std::size_t taken = 0;                   ///< known stops at which soil alone named `unit`
    std::size_t known = 0;                   ///< stops known to lie on this unit, each judged without its block
    std::string channel;                     ///< the evidence that best distinguishes the two; empty: none does
    double channel_factor = 1;  ///< its likelihood ratio for the right one: geometric mean over known stops
    /// For every unit of the survey, over the known stops: its mean probability by soil alone, and the number of stops
    /// at which it is the most probable. Empty if there are no known stops.
    std::vector<double> probability;
    std::vector<std::size_t> named;
};

/// One kind of note that distinguishes two units.
struct Difference {
    std::string channel;
    double factor = 1;        ///< its likelihood ratio for the right one: geometric mean over the known stops of both
    std::size_t right = 0;    ///< known stops at which it alone favours the right one (cross-validation)
    std::size_t known = 0;    ///< known stops of both that have such a note
    std::string here, there;  ///< the usual value on either unit; empty if not expressible in a word
};

/// A unit that shares a contact with this one.
struct Neighbour {
    model::UnitIndex unit = model::no_unit;
    std::size_t contacts = 0;
    double length_m = 0;
    std::vector<Difference>
        told_by;  ///< the best three, best first; each noted at 3 or more known stops of either unit
};

struct IndicatingPlant {
    std::string taxon;
    double value = 0;  ///< IndVal
    double p = 1, corrected_p = 1;
};

/// A typical stop of the unit.
struct TypeStop {
    std::size_t stop = 0;    ///< index in the survey
    double probability = 0;  ///< of lying on the unit
    double typicality = 0;
    bool bedrock_observed = false;
};

/// How well the contacts of a unit are located, by length.
struct ContactsKnown {
    std::size_t contacts = 0;
    double length_m = 0;
    std::array<double, 4> length_of_class_m{};  ///< by LocationClass
    std::size_t elsewhere = 0;                  ///< misplaced contacts, in whole or in part
    std::size_t doubtful = 0, untested = 0;     ///< other contacts, by review
};

struct UnitSummary {
    model::UnitIndex unit = model::no_unit;
    double area_m2 = 0;
    double area_share = 0;       ///< of the mapped area
    bool without_draft = false;  ///< the area is that of a first map
    DescribedBy described_by = DescribedBy::posterior;
    double described_stops = 0;       ///< stops with notes used for the description: a sum of probabilities
    std::size_t stops = 0;            ///< inside its drawn area
    std::size_t stops_rock_seen = 0;  ///< with its bedrock observed
    std::size_t stops_agree = 0;
    std::size_t stops_conflict = 0;
    ColourSummary moist, dry;   ///< of subsoil horizons
    TextureSummary texture;     ///< of subsoil horizons
    FragmentSummary fragments;  ///< of subsoil horizons
    Tally reaction;             ///< class codes, the strongest at each stop
    ProfileSummary profile;
    DepthSummary weathered_rock;  ///< top of Cr; stops that reached hard rock without Cr are left out
    DepthSummary rock;            ///< top of the first rock, weathered or not
    DepthSummary fresh_rock;      ///< top of R, or the depth where spade or auger stopped
    SetTally minerals;            ///< named at any depth above rock
    Tally landforms;
    /// The survey's own evidence by its name, in words: {"magnetic susceptibility", "median 195 (quartiles 120 to 260,
    /// about 12 stops)"}.
    std::vector<std::pair<std::string, std::string>> evidence;
    std::vector<std::pair<std::size_t, double>> textures_at;  ///< subsoil horizons: code in Reduced::texture and count
    std::string plants;  ///< the taxa that indicate it, "heather (IndVal 0.62, p 0.004, corrected 0.02)"
    std::vector<IndicatingPlant> indicating_plants;  ///< the strongest three
    Tally parent_materials;                          ///< the most probable one at each stop, transported soil included
    Confusion mistaken;
    ContactsKnown contacts;
    std::vector<Neighbour> neighbours;  ///< the longest contact first
    std::vector<TypeStop> type_stops;   ///< up to five, bedrock observed first
};

/// One a unit, in legend order.
std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced,
                                         const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                                         const UnitSummaryOptions& options = {});

/// The two units that the soil alone confuses most.
struct ConfusedPair {
    model::UnitIndex a = model::no_unit, b = model::no_unit;
    double probability = 0;  ///< mean probability that soil alone gives to the other unit, over both directions
    std::size_t named = 0;   ///< known stops of either unit at which soil names the other
    std::size_t known = 0;   ///< of both
};
/// Empty where fewer than two units have 5 known stops.
std::optional<ConfusedPair> most_confused_pair(const std::vector<UnitSummary>& units);

/// The figures as a paragraph. Each statement gives its count of stops. What was not noted is not mentioned.
std::string unit_description(const model::Survey& survey, const UnitSummary& unit);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
