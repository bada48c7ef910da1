// A place as a QR code, which a telephone reads from paper.
//
//     std::string drawing = qr_code(geo_uri({3.661553, 56.242851}), 16);  // of "geo:56.242851,3.661553"
#pragma once

#include <string>

#include "subcrop/core/geometry.hpp"

namespace subcrop::publish {

/// RFC 5870: latitude, longitude in WGS 84, to six decimals (11 cm). `degrees`: longitude, latitude.
std::string geo_uri(Point degrees);

/// SVG for a page, with the white margin of four modules that ISO/IEC 18004 asks for. `side_mm`: of the code itself.
/// Error correction M, so that some dirt does no harm. Empty if the build has no libqrencode.
std::string qr_code(const std::string& content, double side_mm);

}  // namespace subcrop::publish
