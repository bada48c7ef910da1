// What is known of a coordinate reference system: plain values, so that threads may share it; each Transformation makes
// PROJ objects of its own from the text.
#pragma once

#include <optional>
#include <string>

#include "subcrop/geo/crs.hpp"

namespace subcrop::geo {

/// Bounds in degrees. West may exceed east if the box crosses the 180th meridian.
struct DegreeBox {
    double west = -180;
    double south = -90;
    double east = 180;
    double north = 90;

    /// Within the box widened by this many degrees on each side.
    bool holds(double longitude, double latitude, double margin_longitude, double margin_latitude) const;
};

struct Crs::Definition {
    std::string text;  ///< as given
    std::string name;
    std::string code;
    std::string wkt;
    std::string wkt1;
    bool geographic = false;
    double metres_per_unit = 1;
    double radians_per_unit = 0;  ///< of a geographic system
    std::optional<DegreeBox> area_of_use;
};

}  // namespace subcrop::geo
