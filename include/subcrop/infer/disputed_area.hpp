// Disputed areas: perhaps a body of rock that the draft lacks.
//
//     for (const DisputedArea& d : disputed_areas(survey, map, fit, relocation)) reasons.push_back(d.reason);
//
// One area for each of Fit::clusters: all places nearer to its stops than to any other stop. It stays near the cluster
// and within the drawn unit (after contacts moved). Its outline is a guess, because nobody looked between the stops.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct DisputedArea {
    MultiPolygon ground;
    Point middle;  ///< mean of its stops
    model::UnitIndex drafted = model::no_unit;
    model::UnitIndex like = model::no_unit;  ///< the unit its stops look like
    std::size_t stops = 0;
    std::size_t stops_like = 0;       ///< stops that fit `like` better than `drafted`, by soil and observed bedrock
    std::size_t stops_rock_seen = 0;  ///< stops with bedrock of `like` observed
    double probability = 0;           ///< that the body exists; at least the probability of its surest stop
    double log10_odds = 0;  ///< for `like` over `drafted`, by soil and observed bedrock, summed over the stops
    double area_m2 = 0;
    std::string reason;  ///< one or two sentences
};

/// In the order of Fit::clusters.
std::vector<DisputedArea> disputed_areas(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                         const Relocation& relocation);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
