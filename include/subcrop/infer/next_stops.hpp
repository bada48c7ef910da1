// Next stops: places where one more stop is expected to correct most of the map.
//
//     std::vector<NextStop> next = suggest_next_stops(survey, map, fit, relocation, {.count = 10}, threads);
//     for (const NextStop& visit : next) places.push_back(visit.place);  // visit.purpose says why, in a sentence
//
// Each stretch of contact is either exactly right or a smooth Gaussian process about its line. Stops beside it narrow
// the process. The share of right stretches is learnt from these stops. The value of a visit depends on how well the
// soil has distinguished the two units so far. The value of an area without stops depends on the probability that the
// draft is wrong there. Both are in hectares expected to be corrected. Visits are chosen greedily, each as if the
// earlier ones had been made. If a disputed area would remove a contact, its gain is multiplied by 1 - P(dispute).
//
// Not good at: roads, slopes and fences (give tracks and no-go areas instead); contacts that do not exist but are not
// disputed. Measured on invented surveys by tests/bench/next_stops.
// Cost: about 10 ms for 100 contacts.
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
    double gain_m = 0;     ///< area expected to be corrected, thousands of square metres
    std::size_t walk = 0;  ///< its number in a walk past all of them, from 1
    std::optional<std::size_t>
        contact;  ///< index into UnitMap::contacts(); absent: an area without stops, or a first map
    model::UnitIndex unit_a = model::no_unit, unit_b = model::no_unit;  ///< of the contact; of a first map the two most
                                                                        ///< probable; none for an area without stops
    double half_width_m = 0;        ///< 90 % half-width of the contact here before the visit; 0 without a contact
    double half_width_after_m = 0;  ///< the same, expected after the visit
    std::string purpose;            ///< one sentence
};

struct NextStopOptions {
    std::size_t count = 10;
    double position_sd_m = 10;  ///< standard error of the visits' positions
    /// Correlation length of the error along a contact. Absent: the shift field's, else the geometric mean of the
    /// stated error and the mean length of a contact.
    std::optional<double> reach_m = std::nullopt;
    /// Share of stretches that are exactly right as drawn. Absent: learnt from the stops beside them.
    std::optional<double> right_share = std::nullopt;
    /// Factor of the gain for each visit already planned to the same two units. It spreads visits over the map.
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
