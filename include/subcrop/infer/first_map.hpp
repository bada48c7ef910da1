// Work without a draft: the prior comes from the rock seen, and the most probable unit of each cell makes a first map.
//
//     RockPrior prior = krige_rock(survey, threads);              // Error where too little rock was seen
//     Fit fit = fit_stops(survey, reduced, no_map, threads, problems, progress, {.prior = prior.at_stops});
//     FirstMap first = draw_first_map(survey, fit, prior, threads);
//     geo::UnitMap map(first.polygons, ...);
//     Relocation contacts = place_contacts(survey, first, map, threads);
//
// Away from stops a cell's probabilities are kriged from all of them: rock where it was seen, elsewhere what the soil says, the
// less sure the less it counts (its variance stands beside the variogram as that of a measurement).
// Not good at: thin beds between stops, and anything sharper than stops lie apart. Ground farther from every stop than the variogram reaches
// stays blank.
// Cost: 0.1 ms a cell, 20,000 cells at most.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "subcrop/geo/unit_grid.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/indicator_kriging.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// Fewer stops with rock seen say nothing of how rock changes from place to place.
inline constexpr std::size_t least_rock_seen = 10;

struct RockPrior {
    Variogram model;
    bool shows_range = false;     ///< whether by the model rock near by is more alike than rock far off
    std::size_t stops_rock_seen = 0;
    std::vector<double> shares;   ///< of each unit
    std::vector<float> at_stops;  ///< stops x units; the rock of others, never a stop's own
};

/// Throws Error where rock was seen at fewer than `least_rock_seen` stops or all of it is one unit.
RockPrior krige_rock(const model::Survey& survey, unsigned threads);

struct FirstMap {
    std::vector<model::MapPolygon> polygons;
    geo::UnitGrid grid;
    std::size_t units = 0;
    std::vector<float> probability;  ///< cells x units
    Variogram model;                 ///< by which it was drawn: that of the rock seen or, where this shows no range, of the units the stops fit best
    bool shows_range = false;        ///< whether that model does
    std::vector<Point> heard;        ///< the stops that it was drawn from
    std::vector<double> noise;       ///< how little each tells: the variance about its unit's indicators, summed over the units
};

/// Probability of each unit in the cell nearest to a place.
void probability_at(const FirstMap& first, Point place, std::span<float> probability);

FirstMap draw_first_map(const model::Survey& survey, const Fit& fit, const RockPrior& prior, unsigned threads);

/// Where one more stop is expected to put most ground right. What it sees is taken to be as sure as half of the stops so far; then the ground about it
/// is kriged with it, the most probable unit of a cell may change, and the gain is the mean, over what it may see, of the fall of the probability that
/// cells show the wrong unit. Visits are taken one by one, each as if those before it had been made. Empty where the model shows no range: a stop then tells of its own
/// place only. Contacts of the result are absent. Tracks and no-go ground are heeded. Depends not on the threads.
std::vector<NextStop> suggest_first_map_stops(const model::Survey& survey, const geo::UnitMap& map, const FirstMap& first, const NextStopOptions& options, unsigned threads);

/// The contacts of the first map with the doubtful ground about each: to either side as far as, of its two units,
/// the one across is more probable than 0.05. `map` is made of `first.polygons`.
Relocation place_contacts(const model::Survey& survey, const FirstMap& first, const geo::UnitMap& map, unsigned threads);

}  // namespace subcrop::infer
