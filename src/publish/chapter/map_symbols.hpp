// How contacts and stops are drawn on legend plate and map sheet.
#pragma once

#include <string>
#include <string_view>

#include "publish/chapter/svg.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"

namespace subcrop::publish::chapter {

/// "Contact, identity and existence certain, location approximate": the names of FGDC-STD-013-2006, section 1.1 (from
/// memory). Solid, long dashes, short dashes, dots; widths and lengths are ours.
std::string contact_name(infer::LocationClass location, bool questionable);
/// SVG attributes of that line.
std::string contact_line(infer::LocationClass location);

/// The symbol of a stop at (x, y). Symbols differ in shape and in colour, as in the styles of the result layers.
void draw_stop(Svg& drawing, double x, double y, infer::Verdict verdict);

/// Denominator of a round scale: 1, 2, 2.5 or 5 times a power of ten, the largest scale at which an extent in metres
/// fits.
double round_scale(double width_m, double height_m, double width_mm, double height_mm);
/// The smallest of 1, 2 or 5 times a power of ten that is not less.
double round_step(double least);

/// "1:25,000".
std::string scale_words(double denominator);

/// A scale bar of round length, at most this wide, with ends and middle marked. Returns its height.
double draw_scale_bar(Svg& drawing, double x, double y, double denominator, double max_mm);
/// An arrow to grid north, 12 mm high, with its foot at (x, y).
void draw_north_arrow(Svg& drawing, double x, double y);

}  // namespace subcrop::publish::chapter
