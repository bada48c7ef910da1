// Soil texture: the twelve classes, and grain size as a composition in ilr coordinates.
//
//     TextureClass texture = classify({65, 25, 10});                              // sandy_loam
//     const IlrDistribution& size = class_distribution(TextureClass::silt_loam);  // of ilr over the class's region
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

enum class TextureClass : std::uint8_t {
    sand,
    loamy_sand,
    sandy_loam,
    loam,
    silt_loam,
    silt,
    sandy_clay_loam,
    clay_loam,
    silty_clay_loam,
    sandy_clay,
    silty_clay,
    clay
};
inline constexpr std::size_t texture_class_count = 12;

/// Percent of the fine earth (below 2 mm) by mass; sand + silt + clay = 100.
struct GrainSize {
    double sand = 0;
    double silt = 0;
    double clay = 0;
};

/// Normal distribution in the two isometric log-ratio coordinates of (sand, silt, clay), Egozcue et al. 2003:
/// y1 = ln(sand/silt)/sqrt 2, y2 = ln(sand silt/clay^2)/sqrt 6.
struct IlrDistribution {
    std::array<double, 2> mean{};
    std::array<double, 3> covariance{};  ///< var(y1), cov(y1, y2), var(y2)
};

/// A class as written, with its coarse-fragment modifier ("very gravelly"), if any.
struct TextureReading {
    TextureClass texture_class = TextureClass::loam;
    std::string modifier;
    /// The class with the size of its sand, if written: "fine sandy loam"; else empty. The size is not used in
    /// computations.
    std::string name_with_sand = {};
};

std::string_view code(TextureClass texture_class);  ///< "SIL"
std::string_view name(TextureClass texture_class);  ///< "silt loam"

/// Class of a grain size by the limits of the Soil Survey Manual (2017). A point on a limit goes to the finer class.
TextureClass classify(const GrainSize& grain_size);

/// Reads a class code or name in any case, with modifiers: "SiL", "silt loam", "GRV-SL", "very gravelly sandy loam",
/// "fine sandy loam".
Parsed<TextureReading> parse_texture(std::string_view text);

/// Percentages brought to a sum of 100. Two given: the third is the rest. Three that sum to 95..105: rescaled, with a
/// remark when off by more than 1. Anything else: refused, with the reason.
Parsed<GrainSize> close_grain_size(std::optional<double> sand, std::optional<double> silt, std::optional<double> clay);

/// ilr coordinates. Zero rule: a part below 0.5 % is raised to 0.5 %, the others lowered in proportion.
std::array<double, 2> ilr(const GrainSize& grain_size);
GrainSize from_ilr(const std::array<double, 2>& coordinates);

/// Mean and covariance of ilr over the class's region of the triangle. Every grain size in it is equally likely.
/// Integrated over the region, with the zero rule of `ilr`.
const IlrDistribution& class_distribution(TextureClass texture_class);

/// Minimum and maximum percent of each part in the class's region; each range by itself.
struct GrainSizeRange {
    GrainSize least;
    GrainSize greatest;
};
GrainSizeRange class_range(TextureClass texture_class);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
