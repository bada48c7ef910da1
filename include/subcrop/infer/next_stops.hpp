// Next stops: places where one more stop is expected to correct most of the map.
//
//     std::vector<NextStop> next = suggest_next_stops(survey, map, fit, relocation, {.count = 10}, threads);
//     for (const NextStop& visit : next) places.push_back(visit.place);  // visit.purpose says why, in a sentence
//
// The answer says at every place how probable each unit is. A visit counts by the area, in hectares, by which what the
// map shows wrong is expected to fall (infer/planning/expected_fall.hpp): around contacts, in disputed areas, wherever
// the answer is unsure. It tells as much as the soil has distinguished the two units so far. An area without stops
// counts by the probability that it is drafted wrong as a whole. Visits are chosen greedily, each as if those before it
// had been made. If a disputed area would remove a contact, its gain is multiplied by 1 - P(dispute).
//
// Not good at: roads, slopes and fences (give tracks and no-go areas).
// Measured on invented surveys by tests/bench/visits_played.
// Cost: 0.1 s for 3,000 ha with 1,200 stops; at most 60,000 places are asked.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct NextStop {
    Point place;
    double gain_ha = 0;    ///< area expected to be corrected, hectares
    std::size_t walk = 0;  ///< its number in a walk past all of them, from 1
    std::optional<std::size_t>
        contact;  ///< index into UnitMap::contacts(), if its 90 % zone holds the place; absent on a first map
    model::UnitIndex unit_a = model::no_unit, unit_b = model::no_unit;  ///< of the contact, else the two most probable;
                                                                        ///< none for an area without stops
    double half_width_m = 0;        ///< 90 % half-width of the contact here before the visit; 0 without a contact
    double half_width_after_m = 0;  ///< the same, expected after the visit
    std::string purpose;            ///< one sentence
};

struct NextStopOptions {
    std::size_t count = 10;
    double position_sd_m = 10;  ///< of the visits
    /// Within which the answer errs alike, metres. Absent: 0.6 of the mean distance between stops.
    std::optional<double> alike_m = std::nullopt;
    /// Factor for each visit already planned to the same two units, which spreads visits over the map.
    double again = 0.8;
};

/// The best first. Fewer than asked for if no more places are allowed or useful. Keeps to the survey's tracks and out
/// of its no-go areas. No place is nearer to a stop than half a standard error of contacts, or two standard errors of
/// both positions. The result depends neither on the threads nor on the order of rows.
std::vector<NextStop> suggest_next_stops(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                         const Relocation& relocation, const NextStopOptions& options,
                                         unsigned threads);

/// Without a draft: places where one more stop is expected to correct most of the first map. A visit is taken to be as
/// sure as the median stop so far. The cells around are kriged with it, so their most probable unit may change. The
/// gain is the mean fall of the probability that cells show the wrong unit. Visits are chosen greedily. Empty if the
/// model shows no range. The result has no contacts. It keeps to tracks and out of no-go areas, and does not depend on
/// the threads.
std::vector<NextStop> suggest_first_map_stops(const model::Survey& survey, const geo::UnitMap& map,
                                              const FirstMap& first, const NextStopOptions& options, unsigned threads);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
