// What the stops say of each unit: the figures behind a unit description (first form).
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

struct UnitSummary {
    model::UnitIndex unit = model::no_unit;
    double area_m2 = 0;
    std::size_t stops = 0;          ///< inside its mapped ground
    std::size_t stops_rock_seen = 0;  ///< where this unit's rock was seen
    std::size_t stops_agree = 0;
    std::size_t stops_conflict = 0;
    std::string colours_moist;      ///< dominant subsoil chips with their share, "7.5YR 4/4 (38 % of 21)"
    std::string colours_dry;
    std::string textures;           ///< dominant subsoil classes with their share
    std::string plants;             ///< the taxa that indicate it, "heather (IndVal 0.62, p 0.004)"
    std::optional<double> rock_depth_median_cm;  ///< holes that ended above rock count as deeper
    std::size_t rock_depths = 0;    ///< stops where it was reached
};

/// One a unit, in legend order; from stops whose verdict is not transported or off_map, by their mapped unit or the rock seen.
std::vector<UnitSummary> summarise_units(const model::Survey& survey, const model::Reduced& reduced,
                                         const geo::UnitMap& map, const Fit& fit);

}  // namespace subcrop::infer
