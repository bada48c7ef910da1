// Munsell notation as people write it, and its colour: CIE xyY and CIELAB through the 1943 renotation.
//
//     auto reading = parse_munsell("10 yr 5/6 moist");  // value: chips {10YR 5/6}, moisture moist
//     Lab lab = to_lab(reading.value->chips.front());   // L* 51.0, a* 8.8, b* 38.5
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// A Munsell colour. `hue` runs from 0 to 100 with 10R = 10, 10YR = 20, 10Y = 30, ... 10RP = 100 = 0; without meaning
/// where chroma is 0 (a neutral, written "N 4/").
struct Munsell {
    double hue = 0;
    double value = 0;
    double chroma = 0;
    friend bool operator==(const Munsell&, const Munsell&) = default;
};

/// CIE 1931 chromaticity under illuminant C and luminance in percent of the perfect diffuser.
struct ChromaticityLuminance {
    double x = 0;
    double y = 0;
    double luminance = 0;
};

/// CIELAB with the white of illuminant C.
struct Lab {
    double lightness = 0;
    double a = 0;
    double b = 0;
    friend bool operator==(const Lab&, const Lab&) = default;
};

/// For a swatch on a screen only.
struct Srgb {
    std::uint8_t red = 0, green = 0, blue = 0;
    friend bool operator==(const Srgb&, const Srgb&) = default;
};

enum class Moisture : std::uint8_t { unstated, moist, dry };

struct ColourReading {
    std::vector<Munsell> chips;  ///< one, or the two ends of a range
    Moisture moisture = Moisture::unstated;
    std::string notation;  ///< canonical, "10YR 5/4" or "10YR 5/4 to 5/6"
};

/// Reads `10YR5/6`, `10 yr 5/6 moist`, `7.5YR 4.5/3`, `N 4/`, `10YR 5/4-5/6`, gley hues. A colour that no colour book
/// contains is read, with a remark.
Parsed<ColourReading> parse_munsell(std::string_view text);

/// "7.5YR 4/4", "N 4/".
std::string notation(const Munsell& colour);

/// Luminance in percent of the perfect diffuser from Munsell value, 0 to 10 (ASTM D1535-08 quintic).
double luminance_of_value(double value);
/// Its inverse, by Newton's method.
double value_of_luminance(double luminance);

/// Interpolated in the 1943 renotation (Newhall, Nickerson and Judd), in polar CIELAB: linear in hue, value and chroma
/// between its steps. Beyond the table's chroma in proportion to chroma at constant hue; below value 1 chroma shrinks
/// with lightness, above value 9 it stays. Value from 0 to 10, chroma not below 0.
ChromaticityLuminance to_chromaticity(const Munsell& colour);
Lab to_lab(const Munsell& colour);
/// Adapted to D65 by Bradford; clipped to the gamut.
Srgb to_srgb(const Munsell& colour);

/// The chip of an ordinary soil colour book nearest to a CIELAB colour by CIEDE2000.
Munsell nearest_chip(const Lab& lab);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
