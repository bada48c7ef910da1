#include "publish/quantity_words.hpp"

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdio>

namespace subcrop::publish {

std::string_view towards(double azimuth_deg) {
    static constexpr std::array<std::string_view, 8> names{"north", "north-east", "east", "south-east",
                                                           "south", "south-west", "west", "north-west"};
    return names[static_cast<std::size_t>(std::lround(azimuth_deg / 45)) % names.size()];
}

std::string day_text(int day, int month, int year) {
    static constexpr std::array<std::string_view, 12> months{"January",   "February", "March",    "April",
                                                             "May",       "June",     "July",     "August",
                                                             "September", "October",  "November", "December"};
    return std::to_string(day) + ' ' + std::string(months.at(static_cast<std::size_t>(month - 1))) + ' ' +
           std::to_string(year);
}

std::string hectares(double area_m2) {
    const double value = area_m2 / 1e4;
    if (value < 0.1) return "under 0.1";
    char text[32];
    std::snprintf(text, sizeof text, value < 10 ? "%.1f" : "%.0f", value);
    return text;
}

}  // namespace subcrop::publish
