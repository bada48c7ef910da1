// The grain-size triangle with its twelve classes and the noted grain sizes.
#pragma once

#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "publish/chapter/svg.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::publish::chapter {

/// Corners of a class's region, sand and clay in percent; limits of USDA Handbook 18 (Soil Survey Manual, 2017).
std::span<const std::pair<double, double>> corners_of(field::TextureClass texture_class);

/// Grain sizes and how many horizons have each: the area of a circle is proportional to their number.
Svg texture_triangle(const std::vector<std::pair<field::GrainSize, double>>& horizons, std::string_view colour);

}  // namespace subcrop::publish::chapter
