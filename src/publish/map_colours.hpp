// Common colours of styles, legend plate and map sheet.
#pragma once

#include <string>

#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

// The colours of the report page in its light style.
inline constexpr const char* ink = "#1b2126";
inline constexpr const char* paper = "#ffffff";
inline constexpr const char* warn = "#b8390e";
inline constexpr const char* calm = "#3f7396";
inline constexpr const char* sand = "#8a6416";
inline constexpr const char* odd = "#6d3f8f";
inline constexpr const char* open = "#6a737a";
inline constexpr const char* zone = "#5a4a9c";

/// The legend's colour, else one of nine muted hues that colour-blind readers can distinguish (Paul Tol's technical
/// note, 2021).
std::string unit_colour(const model::Survey& survey, std::size_t unit);

}  // namespace subcrop::publish
