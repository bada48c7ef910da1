// Words for the figures of a unit. Its paragraph and its chapter share them, so both say the same.
#pragma once

#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/infer/unit_summary.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// "38 %"; "under 1 %" of a small part.
std::string percent_words(double part, double of);
/// "12.3 ha", "480 ha", "132 km2".
std::string area_words(double area_m2);
/// "640 m", "4.2 km".
std::string length_words(double metres);
/// "14 of 30 profiles" of whole counts, "46 % of about 30 profiles" of sums of probabilities.
std::string part_of(double part, double total, const char* one, const char* several);

// Each is empty if nothing was noted.
std::string colour_words(
    const ColourSummary& colour);  ///< "5YR 4/4 (the middle of about 12 colours, 17 % of them this chip)"
std::string texture_words(const TextureSummary& texture);      ///< "clay loam in 41 % of about 12 horizons"
std::string fragment_words(
    const FragmentSummary& fragments);  ///< "15 % by volume (median of about 11 horizons, range 6 to 70 %)"
std::string fragment_kind_words(
    const FragmentSummary& fragments);                  ///< "basalt in 70 % of about 7 horizons with a noted kind"
std::string reaction_words(const Tally& reaction);      ///< a sentence
std::string contact_words(const ContactsKnown& known);  ///< one or two sentences
/// The commonest first: "backslope (53 % of about 11 stops), summit (27 %)".
std::string share_words(const Tally& tally, const char* one, const char* several, std::size_t most = 3);
std::string evidence_words(const UnitSummary& unit);    ///< "magnetic susceptibility median 195 (...); ..."
/// "Described from about 23 stops, each counted by its probability of lying on it."
std::string described_words(const UnitSummary& unit);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
