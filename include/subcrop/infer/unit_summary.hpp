// What the stops say about each unit: the figures behind a unit's description, and the description itself.
//
//     std::vector<UnitSummary> units = summarise_units(survey, reduced, map, fit, relocation, {});
//     std::string chip = units[0].moist.chip;                  // "5YR 4/6": the chip nearest to all that were noted
//     std::string words = unit_description(survey, units[0]);  // a paragraph that says no more than the figures do
//
// Each stop counts for a unit by its probability of lying on it (draft, stops around, its own soil, observed bedrock).
// For bedrock units, soil that was probably transported counts less. A conflicting stop thus counts for the unit to
// which it belongs. Subsoil stands for the unit's soil.
//
// Not good at: showing how much soils vary. A stop whose soil is odd for its unit counts less.
// `DescribedBy::draft` counts every stop in full for the unit drawn there.
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

/// What the stops of a unit are.
enum class DescribedBy : std::uint8_t {
    posterior,  ///< each stop counts by its probability of lying on the unit, given everything
    draft,  ///< each stop counts in full for the unit whose bedrock was observed there, else for the one drawn under it
};

struct UnitSummaryOptions {
    DescribedBy described_by = DescribedBy::posterior;
    unsigned threads = 1;
};

/// By DescribedBy::posterior every count is a sum of probabilities, so that it need not be a whole number.
struct Counted {
    std::string name;
    double count = 0;
    friend bool operator==(const Counted&, const Counted&) = default;
};

/// "23"; "about 23" where it is no whole number.
std::string about(double count);
/// "1 stop", "about 23 stops".
std::string about(double count, const char* one, const char* several);

/// What was noted and how often, the commonest first; ties in the order of their names.
struct Tally {
    std::vector<Counted> values;
    double total() const;
    /// The commonest `most` with their shares: "7.5YR 4/4 (38 % of 21), 10YR 4/4 (19 %)"; empty where there are none.
    /// What makes less than half a percent is left out.
    std::string text(std::size_t most = 3) const;
};

/// Words of which a stop may have several.
struct SetTally {
    std::vector<Counted> values;                   ///< the commonest first
    double stops = 0;                              ///< at which any was named
    std::string text(std::size_t most = 3) const;  ///< "olivine (60 % of about 12 stops), mica (22 %)"
};

struct ColourSummary {
    /// Of the 30 commonest chips the one with the least sum of CIEDE2000 differences to all that were noted: a real
    /// chip, not an average of numbers. Empty where none was noted.
    std::string chip;
    Tally chips;  ///< a range or a colour between chips counts as the book's nearest chip
};

struct TextureSummary {
    Tally classes;
    /// Of the grain size of all, in ilr coordinates: mean, and covariance with the width of the classes themselves in
    /// it.
    std::optional<field::IlrDistribution> distribution;
};

/// Depths of which some are known only to be greater than the hole was deep.
struct DepthSummary {
    std::optional<double>
        median_cm;  ///< Kaplan and Meier 1958; absent if one hole alone reached it, or fewer than half may have
    /// 90 % interval of the median (Brookmeyer and Crowley 1982). The upper end may be absent.
    std::optional<double> low_cm, high_cm;
    std::optional<double> min_cm;  ///< of those reached at stops that lie on the unit more probably than not
    std::optional<double> max_cm;
    double reached = 0;
    double deeper = 0;  ///< holes that ended above it
    friend bool operator==(const DepthSummary&, const DepthSummary&) = default;
};

struct FragmentSummary {
    std::optional<double> median_pct, min_pct, max_pct;  ///< of the whole soil by volume
    double horizons = 0;                                 ///< that state a percentage
    Tally kinds;
};

struct ProfileSummary {
    struct Horizon {
        std::string name;                               ///< capital letters of the designation: "A", "BC"
        std::optional<double> top_cm, bottom_cm;        ///< medians over the stops of the sequence that noted them
        std::optional<double> top_low_cm, top_high_cm;  ///< quartiles of the top
        std::string chip;  ///< in the middle of its moist colours; empty where none was noted
    };
    std::vector<Horizon> horizons;  ///< the commonest sequence; like horizons in a row count as one
    double stops = 0;               ///< that have this sequence
    double described = 0;           ///< that have designations at all
    std::string text() const;       ///< "A, B, C (14 of 30 profiles): A 0 to 18 cm, B 18 to 55 cm, C from 55 cm"
};

/// Which other unit the soil alone names most often where this one is known to lie.
struct Confusion {
    model::UnitIndex unit = model::no_unit;  ///< no_unit: too few stops, or none was mistaken
    std::size_t taken = 0;                   ///< known stops of which the soil alone named `unit`
    std::size_t known = 0;  ///< stops at which this unit is known to lie, each judged without its block
    std::string channel;    ///< the kind of evidence that tells the two apart best; empty: none does
    double channel_factor =
        1;  ///< how many times more probable it makes the right one: geometric mean over known stops
    /// For every unit of the survey, over the known stops: mean probability that the soil alone gives it, and at how
    /// many it is the most probable one. Empty where no stop is known.
    std::vector<double> probability;
    std::vector<std::size_t> named;
};

/// One kind of note that tells two units apart.
struct Difference {
    std::string channel;
    double factor =
        1;  ///< geometric mean, at the known stops of both, of how many times likelier it makes the right one
    std::size_t right = 0;    ///< known stops at which it alone, learnt elsewhere, favours the right one of the two
    std::size_t known = 0;    ///< known stops of both that have such a note
    std::string here, there;  ///< what is usual on either; empty where it cannot be said in a word
};

/// Another unit that this one meets on the map.
struct Neighbour {
    model::UnitIndex unit = model::no_unit;
    std::size_t contacts = 0;
    double length_m = 0;
    std::vector<Difference> told_by;  ///< the best three, the best first; noted at 3 or more known stops of either
};

struct IndicatingPlant {
    std::string taxon;
    double value = 0;  ///< IndVal
    double p = 1, corrected_p = 1;
};

/// A stop that shows the unit well.
struct TypeStop {
    std::size_t stop = 0;    ///< index in the survey
    double probability = 0;  ///< of lying on the unit
    double typicality = 0;
    bool bedrock_observed = false;
};

/// How the contacts of a unit are known, by length.
struct ContactsKnown {
    std::size_t contacts = 0;
    double length_m = 0;
    std::array<double, 4> length_of_class_m{};  ///< by LocationClass
    std::size_t elsewhere = 0;                  ///< misplaced contacts, in whole or in part
    std::size_t doubtful = 0, untested = 0;     ///< of the others, by review
};

struct UnitSummary {
    model::UnitIndex unit = model::no_unit;
    double area_m2 = 0;
    double area_share = 0;       ///< of the mapped area
    bool without_draft = false;  ///< the area is that of a first map
    DescribedBy described_by = DescribedBy::posterior;
    double described_stops = 0;       ///< stops with notes that the description rests on: a sum of probabilities
    std::size_t stops = 0;            ///< inside its drawn area
    std::size_t stops_rock_seen = 0;  ///< with its bedrock observed
    std::size_t stops_agree = 0;
    std::size_t stops_conflict = 0;
    ColourSummary moist, dry;   ///< of subsoil horizons
    TextureSummary texture;     ///< of subsoil horizons
    FragmentSummary fragments;  ///< of subsoil horizons
    Tally reaction;             ///< class codes, the strongest at each stop
    ProfileSummary profile;
    DepthSummary weathered_rock;  ///< top of Cr; stops that met hard rock without it are left out
    DepthSummary rock;            ///< top of the first rock, weathered or not
    DepthSummary fresh_rock;      ///< top of R, or where spade or auger would go no further
    SetTally minerals;            ///< named at any depth above rock
    Tally landforms;
    /// The survey's own evidence by its name, in words: {"magnetic susceptibility", "median 195 (quartiles 120 to 260,
    /// about 12 stops)"}.
    std::vector<std::pair<std::string, std::string>> evidence;
    std::vector<std::pair<std::size_t, double>> textures_at;  ///< subsoil horizons: code in Reduced::texture and count
    std::string plants;  ///< the taxa that indicate it, "heather (IndVal 0.62, p 0.004, corrected 0.02)"
    std::vector<IndicatingPlant> indicating_plants;  ///< the strongest three
    Tally parent_materials;                          ///< the most probable one at each stop, carried soil included
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
    double probability = 0;  ///< that the soil alone gives the other one: mean of both directions
    std::size_t named = 0;   ///< known stops of either at which it names the other
    std::size_t known = 0;   ///< of both
};
/// Empty where fewer than two units have 5 known stops.
std::optional<ConfusedPair> most_confused_pair(const std::vector<UnitSummary>& units);

/// The figures as a paragraph. Nothing is said without the count it rests on, and nothing that was not noted is
/// mentioned.
std::string unit_description(const model::Survey& survey, const UnitSummary& unit);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
