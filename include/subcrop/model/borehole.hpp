// Boreholes and attitudes: observations of the rock itself.
#pragma once

#include <cstdint>
#include <optional>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/stop.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// A log's data besides its horizons. The hole is a stop too: its place, and the rock at its bottom as `unit_seen`.
/// Depths in metres below the collar.
struct Borehole {
    std::optional<double> collar_height_m{};
    std::optional<double> weathered_rock_m{};  ///< top of weathered rock
    std::optional<double> rock_m{};            ///< top of fresh rock
    std::optional<double> end_m{};
    /// Rock below a deposit that the draft shows as a unit. It does not contradict the draft there.
    UnitIndex unit_below_cover = no_unit;
};

/// Strike by the right-hand rule (the bed dips to the right of it) and dip of a bed, measured at a place.
struct Attitude {
    std::int64_t row = 0;  ///< row in its source, as Problem has it
    Point position;
    double strike_deg = 0;
    double dip_deg = 0;
    double error_deg = 0;  ///< standard error of the direction of the bed's normal
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
