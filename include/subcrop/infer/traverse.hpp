// Where each traverse crosses contacts by the evidence of the soil, compared with the draft.
//
//     for (const TraverseCrossing& c : cross_traverses(survey, map, fit, threads)) {
//         if (c.status != CrossingStatus::displaced) continue;
//         displaced.push_back(c);  // at c.chainage_m, 90 % interval c.low_m to c.high_m, off by c.offset_m
//     }
//
// The ordered stops of a traverse are a hidden Markov chain over units. Emissions: soil and observed bedrock at each
// stop, and the draft blurred by the errors of position and contact. Transitions: a change of unit with probability 1 -
// exp(-d / lambda) in a gap of d metres. The probability of the next unit is proportional to the length of contact it
// shares with the last one.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

enum class CrossingStatus : std::uint8_t {
    confirmed,  ///< the draft's crossing (or part of a strip without stops) lies within the 90 % interval
    displaced,  ///< the draft has the same change of unit, but outside the interval
    unmapped,   ///< the draft has no such crossing here
    not_found,  ///< the draft has a crossing that the stops do not show
};
inline constexpr std::size_t crossing_status_count = 4;

std::string_view to_string(CrossingStatus status);    ///< the code, such as "not_found"
std::string_view description(CrossingStatus status);  ///< a plain sentence for domains and legends

/// One change of unit along a traverse. Chainages are metres along the line through its stops, from the first one.
struct TraverseCrossing {
    std::string traverse;
    model::UnitIndex from_unit = model::no_unit;
    model::UnitIndex to_unit = model::no_unit;
    std::optional<double> chainage_m;         ///< half of the probability lies on each side; absent: not found
    std::optional<double> low_m;              ///< 5 % of the probability lies before
    std::optional<double> high_m;             ///< 5 % lies beyond
    double probability = 0;                   ///< that the change exists
    std::optional<double> mapped_chainage_m;  ///< on the draft, or middle of a strip without stops; absent: unmapped
    std::optional<double> offset_m;           ///< chainage_m minus mapped_chainage_m
    CrossingStatus status = CrossingStatus::confirmed;
    Point place;  ///< at chainage_m, or at mapped_chainage_m if not found
};

/// Stops of one traverse in the order in which they stand along it.
struct Traverse {
    std::string name;
    std::vector<std::size_t> stops;  ///< indices into Survey::stops
};

/// Traverses with two stops or more, by name. Order: `seq` if every stop has one; else the date if each stop has its
/// own. Otherwise along the direction of greatest spread, from west to east.
std::vector<Traverse> order_traverses(const model::Survey& survey);

/// A change of unit of the draft along a line.
struct MappedCrossing {
    double chainage_m = 0;
    model::UnitIndex from_unit = model::no_unit;
    model::UnitIndex to_unit = model::no_unit;
};

/// Where the draft's contacts cross a line, in order along it. Strips narrower than `step_m` may be missed.
std::vector<MappedCrossing> mapped_crossings(const geo::UnitMap& map, const Line& line, double step_m);

/// One traverse in walking order, with the result at each stop.
struct TraverseCourse {
    Traverse traverse;
    std::vector<double> chainage_m;      ///< one a stop, from the first
    std::vector<MappedCrossing> mapped;  ///< where the draft's contacts cross it
    /// stops x units, row-major: probability of each unit at each stop, by all notes along the traverse and the draft.
    /// Rows sum to one.
    std::vector<double> probability;
    std::vector<TraverseCrossing> crossings;  ///< by chainage, from the first to the last stop with evidence
};

/// Every traverse of `order_traverses`, in its order. The result does not depend on the threads.
std::vector<TraverseCourse> follow_traverses(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                             unsigned threads);

/// The crossings of all of them, by traverse and chainage.
std::vector<TraverseCrossing> crossings_of(const std::vector<TraverseCourse>& followed);
/// The same, without the rest of the traverses. The result does not depend on the threads.
std::vector<TraverseCrossing> cross_traverses(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                              unsigned threads);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
