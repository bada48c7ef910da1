// The notes of a geologist at one stop, as written. Text stays text here: `model/reduced.hpp` turns it into numbers. An
// absent value is an empty Text or an empty optional, never NaN.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/text.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// Index into Survey::units.
using UnitIndex = std::int32_t;
inline constexpr UnitIndex no_unit = -1;

/// One horizon, or the single sample of a stop that has no horizon table. Depths in centimetres below the surface.
struct Horizon {
    std::int64_t row = 0;  ///< row in the horizon source (or the stop's own row), as Problem has it
    std::optional<double> top_cm;
    std::optional<double> bottom_cm;
    float top_spread_cm = 0;  ///< half of the range that was written for it: '8-12' is 10 with a spread of 2
    float bottom_spread_cm = 0;
    Text designation;                ///< such as "Bt1" or "2C"
    Text colour_moist;               ///< Munsell notation
    Text colour_dry;                 ///< Munsell notation
    Text texture;                    ///< class code or name, such as "SIL"
    std::optional<double> sand_pct;  ///< percent of the fine earth by mass
    std::optional<double> silt_pct;
    std::optional<double> clay_pct;
    std::optional<double> jar_sand_mm;  ///< settled thickness in the jar
    std::optional<double> jar_silt_mm;
    std::optional<double> jar_clay_mm;
    std::optional<double> fragments_pct;  ///< percent of the whole soil by volume
    Text fragment_kind;
    Text fragment_shape;
    Text effervescence;  ///< reaction to dilute acid, class code or word
    Text minerals;
    Text redox;
    std::optional<double> ph;  ///< in water, 1:1 or by the survey's own rule; the same rule for all
};

/// One place of observation.
struct Stop {
    std::int64_t row = 0;  ///< row in the stop source, as Problem has it
    std::string id;
    Point position;                   ///< working projection, metres
    double position_sd_m = 0;         ///< standard error of the position, the coordinate operation's accuracy included
    bool position_sd_stated = false;  ///< not the default of the settings
    Text traverse;
    std::optional<double> seq;  ///< order along the traverse
    Text date;
    Text landform;
    std::optional<double> slope_deg;
    UnitIndex unit_seen = no_unit;  ///< unit of bedrock observed here
    Text plants;                    ///< free notes
    bool plants_complete = false;   ///< the list is complete: a plant not named was absent
    Text notes;
    std::uint32_t first_horizon = 0;  ///< its horizons are consecutive in Survey::horizons, from the top down
    std::uint32_t horizon_count = 0;
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
