// Places as people write them: degrees, minutes and seconds in any of the usual ways, and UTM.
//
//     auto place = read_place("N 45 12.345 E 3 40.2");          // x 3.67 (longitude), y 45.20575 (latitude)
//     auto grid = read_place("31V 540595 6231941");             // UTM zone 31 north, 540595 east, 6231941 north
//     auto west = read_angle("3°40'12.0\"W", Axis::longitude);  // -3.67
//
// A text with two possible meanings is refused, and both are named. Nothing is guessed. Zone letters of the military
// grid are not read.
#pragma once

#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

enum class Axis { latitude, longitude };

struct WrittenPlace {
    enum class Kind {
        degrees,  ///< x longitude, y latitude, decimal degrees
        utm,      ///< x east, y north, metres, in `zone`
        grid,     ///< x east, y north, metres, in a system that was not written
    };
    Kind kind = Kind::degrees;
    double x = 0, y = 0;
    int zone = 0;       ///< 1 to 60
    bool north = true;  ///< of the equator
};

/// A whole place in one text. `message` says how it was read, or what is wrong if there is no value.
Parsed<WrittenPlace> read_place(std::string_view text);

/// One coordinate in degrees, in a column that is known to hold this axis.
Parsed<double> read_angle(std::string_view text, Axis axis);

/// "45.20575° N, 3.67° E", to six decimals (0.1 m).
std::string degrees_text(double latitude, double longitude);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
