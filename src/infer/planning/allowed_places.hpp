// Where a visit may be suggested: on the map, outside the no-go areas and, if the survey has tracks, near them.
#pragma once

#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

class AllowedPlaces {
public:
    /// Both must outlive it.
    AllowedPlaces(const model::Survey& survey, const geo::UnitMap& map) : survey_(survey), map_(map) {}
    bool operator()(Point place) const;

private:
    const model::Survey& survey_;
    const geo::UnitMap& map_;
};

}  // namespace subcrop::infer
