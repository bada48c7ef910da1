#include "infer/planning/allowed_places.hpp"

#include <algorithm>

#include "subcrop/core/planar.hpp"

namespace subcrop::infer {

bool AllowedPlaces::operator()(Point place) const {
    if (map_.unit_at(place) == model::no_unit) return false;
    if (std::any_of(survey_.no_go.begin(), survey_.no_go.end(),
                    [&](const Polygon& polygon) { return inside(polygon, place); }))
        return false;
    return survey_.tracks.empty() || std::any_of(survey_.tracks.begin(), survey_.tracks.end(), [&](const Line& track) {
               return nearest_on(track, place).off_m <= survey_.track_reach_m;
           });
}

}  // namespace subcrop::infer
