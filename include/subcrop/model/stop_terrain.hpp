// The terrain at a stop: the shape of the land, and the nearest stream.
#pragma once

#include <optional>
#include <string_view>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

struct StopTerrain {
    std::optional<double> height_m{};  ///< absent in voids and outside; then all else is absent too
    std::optional<double> slope_deg{};
    std::optional<double> aspect_deg{};         ///< direction downslope, clockwise from north; absent if level
    std::optional<double> profile_curvature{};  ///< along the slope, 1/m; convex is positive
    std::optional<double> plan_curvature{};     ///< along the contour, 1/m; convex is positive
    std::optional<double> stream_distance_m{};  ///< along the way the water takes
    std::optional<double> above_stream_m{};
    /// A word of the trade, such as "foot slope"; empty if the shape of the land fits none. Lives for ever.
    std::string_view landform{};
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
