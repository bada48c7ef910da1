// Where to stop next: the places from which the contacts would gain most.
//
//     std::vector<NextStop> next = suggest_next_stops(survey, map, fit, relocation, {.count = 10}, threads);
//     next[0].place, next[0].purpose
//
// Each stretch of contact is either simply right where it is drawn (or was relocated to) or a smooth Gaussian process about that line, narrowed by the stops
// beside it. How many are right is learnt from these stops; a visit to where the contact most probably runs tells as much as the soil has told its two units apart so
// far. Ground without
// stops counts by the chance that the draft is wrong there in no smooth way. Both are weighed in the same coin, ground
// expected to be put right, and visits are taken one by one, the best first, each as if those before it had been made.
//
// A contact whose one side is disputed and like the other counts for as much as the dispute may be wrong.
//
// Not good at: ways, slopes and fences (give tracks and no-go ground), other contacts that do not exist. Measured on invented surveys by tests/bench/next_stops.
// Cost: about 10 ms for 100 contacts.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

struct NextStop {
    Point place;
    double gain_m = 0;  ///< by how much the mean error narrows, taken over one kilometre of contact: 1000 m2 of ground put right are 1 m
    std::size_t walk = 0;  ///< place in a walk past all of them, from 1
    std::optional<std::size_t> contact;  ///< index into UnitMap::contacts(); absent: ground without stops, or a first map
    model::UnitIndex unit_a = model::no_unit, unit_b = model::no_unit;  ///< of the contact; of a first map the two likeliest here; none for ground without stops
    double half_width_m = 0;        ///< 90 % half-width of the contact here before the visit; 0 without a contact
    double half_width_after_m = 0;  ///< and as expected after it
    std::string purpose;  ///< one sentence
};

struct NextStopOptions {
    std::size_t count = 10;
    double position_sd_m = 10;  ///< of the visits
    /// Along a contact within which its error is taken as alike. Absent: that of the field of shifts, else
    /// the geometric mean of the stated error and the mean length of a contact.
    std::optional<double> reach_m = std::nullopt;
    /// The share of contacts, by stretches, that are simply right where they are drawn. Absent: learnt from the stops beside them.
    std::optional<double> right_share = std::nullopt;
    /// What a visit counts for each one planned already to a contact of the same two units: several are spread over the map where that
    /// costs little.
    double again = 0.8;
};

/// The best first, each as if those before it had been made; fewer than asked for where no more ground is allowed or
/// nothing more would be gained. The survey's tracks and no-go ground are heeded, and no place is suggested nearer to a
/// stop than half a standard error of contacts, or than two of both positions. Depends neither on the threads nor on
/// the order of rows.
std::vector<NextStop> suggest_next_stops(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                         const Relocation& relocation, const NextStopOptions& options, unsigned threads);

}  // namespace subcrop::infer
