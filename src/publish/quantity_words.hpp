// Quantities in words, the same on screen, page and layers.
#pragma once

#include <string>
#include <string_view>

namespace subcrop::publish {

/// "north-east", of an azimuth clockwise from north.
std::string_view towards(double azimuth_deg);

/// "28 November 2026"; `month` from 1 to 12.
std::string day_text(int day, int month, int year);

/// "under 0.1", "3.2", "166": hectares without the unit.
std::string hectares(double area_m2);

}  // namespace subcrop::publish
