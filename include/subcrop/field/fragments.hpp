// Coarse fragments (above 2 mm) in the name of a texture.
//
//     std::string name = texture_name(TextureClass::loam, 40, FragmentKind::gravel);  // "very gravelly loam"
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"
#include "subcrop/field/texture.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// By size and shape: rounded or blocky gravel (2 to 76 mm), cobbles (to 250), stones (to 600), boulders; flat channers
/// (2 to 150 mm long) and flagstones (to 380). Soil Survey Manual (2017), chapter 3; the sizes from memory.
enum class FragmentKind : std::uint8_t { gravel, cobbles, stones, boulders, channers, flagstones };

std::string_view name(FragmentKind kind);  ///< "gravel"

/// Reads a code, noun or adjective in any case: "GR", "gravel", "gravelly", "cobble". The name of a rock does not tell
/// the size and is refused.
Parsed<FragmentKind> parse_fragment_kind(std::string_view text);

/// By percent of the whole soil by volume: "" below 15, "gravelly" below 35, "very gravelly" below 60, "extremely
/// gravelly" below 90 (Soil Survey Manual 1993 and 2017, chapter 3); from 90 the noun, "gravel" (that limit from
/// memory). `percent` from 0 to 100.
std::string fragment_modifier(double percent, FragmentKind kind);

/// Modifier and class; from 90 percent the noun alone.
std::string texture_name(TextureClass texture_class, double fragments_percent, FragmentKind kind);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
