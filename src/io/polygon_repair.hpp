// Invalid polygons made valid, with the reason and the place.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::io {

struct Repair {
    bool was_valid = false;         ///< nothing to do; `polygons` is empty
    std::string reason;             ///< "self-intersection"; empty when unknown
    std::optional<Point> position;  ///< where, if known
    std::vector<Polygon> polygons;  ///< none: nothing with an area was left
};

/// The closer look (GEOS) at a polygon that the screen did not pass.
Repair repaired(const Polygon& polygon);

}  // namespace subcrop::io
