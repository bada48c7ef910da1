// Work without a draft: observed bedrock gives the prior, and the most probable unit of each cell makes a first map.
//
//     RockPrior prior = krige_rock(survey, threads);  // throws Error if too little bedrock was observed
//     Fit without_draft = fit_stops(survey, reduced, no_map, threads, problems, progress, {.prior = prior.at_stops});
//     FirstMap first = draw_first_map(survey, without_draft, prior, threads);
//     geo::UnitMap drawn(first.polygons, survey.units.size(), {}, problems);
//     Relocation contacts = place_contacts(survey, first, drawn, threads);
//
// The probabilities of a cell are kriged from all stops. Observed bedrock counts in full. Soil counts as a measurement
// with an error variance of its own. Not good at: thin beds between stops. Areas beyond the range of the variogram stay
// blank. Cost: 0.1 ms a cell, 20,000 cells at most.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/geo/unit_grid.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/indicator_kriging.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// With fewer stops with observed bedrock the variogram cannot be estimated.
inline constexpr std::size_t min_rock_seen = 10;

struct RockPrior {
    Variogram model;
    bool shows_range = false;  ///< whether the model makes near bedrock more alike than far bedrock
    std::size_t stops_rock_seen = 0;
    std::vector<double> shares;   ///< of each unit
    std::vector<float> at_stops;  ///< stops x units; from bedrock at other stops, never the stop's own
};

/// Throws Error if bedrock was observed at fewer than `min_rock_seen` stops, or all of it is one unit.
RockPrior krige_rock(const model::Survey& survey, unsigned threads);

struct FirstMap {
    std::vector<model::MapPolygon> polygons;
    geo::UnitGrid grid;
    std::size_t units = 0;
    std::vector<float> probability;  ///< cells x units
    Variogram model;  ///< the model used: from observed bedrock or, if that shows no range, from the fitted units
    bool shows_range = false;   ///< whether that model does
    std::vector<Point> heard;   ///< the stops that it was drawn from
    std::vector<double> noise;  ///< error variance of each stop's indicators, summed over the units
};

/// Probability of each unit in the cell nearest to a place.
void probability_at(const FirstMap& first, Point place, std::span<float> probability);

FirstMap draw_first_map(const model::Survey& survey, const Fit& fit, const RockPrior& prior, unsigned threads);

/// The contacts of the first map, each with its doubtful zone. In the zone the unit across has a probability over 0.05,
/// of the two units. `map` is made from `first.polygons`.
Relocation place_contacts(const model::Survey& survey, const FirstMap& first, const geo::UnitMap& map,
                          unsigned threads);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
