// Contacts by stretch: what the stops say about each part of a drafted contact.
//
//     review_stretches(survey, map, fit, crossings, relocation, threads);  // `relocate` has done so without crossings
//     for (const ContactStretch& part : relocation.contacts[0].parts)
//         if (part.review == Review::doubtful) doubtful_m += part.to_m - part.from_m;
//
// A misplaced stretch (moved_stretch.hpp) is a part of its own. What remains is cut at gaps: a part reaches 4 standard
// errors of the contact beyond its stops. It is cut further where the stops change their mind. Of all ways to cut, the
// one with the largest sum is taken: decimal log odds of the stops in doubtful parts, less 1 for each cut (Viterbi's
// algorithm). A part without enough stops is untested.
//
// Not good at: closed contacts, which are cut at their first vertex. Cost: linear in stops and vertices near them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct Relocation;
struct TraverseCrossing;

/// Part of a drafted contact with one review. The parts of a contact follow one another without gaps.
struct ContactStretch {
    double from_m = 0, to_m = 0;  ///< along the drafted contact, from its first vertex
    Review review = Review::untested;
    std::optional<std::size_t> moved = {};          ///< if misplaced: index into RelocatedContact::stretches
    std::vector<std::uint32_t> supporting = {};     ///< stops, the clearest first
    std::vector<std::uint32_t> contradicting = {};  ///< stops, the clearest first
    std::size_t stops = 0;                          ///< near it, also those that say little
    double log10_odds_against = 0;                  ///< sum over its stops
    double half_width_m = 0;                        ///< of the 90 % zone, root mean square over the part
    std::optional<Point> crossed_elsewhere = {};    ///< where a traverse crosses the contact away from this part
};

/// Counts the crossings whose 90 % interval excludes the drawn line, and cuts every contact into parts. The result does
/// not depend on the threads.
void review_stretches(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                      std::span<const TraverseCrossing> crossings, Relocation& relocation, unsigned threads);

/// How far a misplaced part should move.
struct PartShift {
    double shift_m = 0;                      ///< without sign, mean over the part
    double shift_sd_m = 0;                   ///< standard error at a place
    std::optional<double> azimuth_deg = {};  ///< clockwise from grid north; absent: no direction
};
/// Absent if the part is not misplaced.
std::optional<PartShift> shift_of(const Relocation& relocation, std::size_t contact, const ContactStretch& part);

/// The drafted line of a part.
Line line_of(const ContactStretch& part, const geo::Contact& contact);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
