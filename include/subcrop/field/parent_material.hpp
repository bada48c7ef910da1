// Did the soil come from the rock below, or was it carried here?
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace subcrop::field {

enum class ParentMaterial : std::uint8_t { residuum, colluvium, alluvium, aeolian, glacial, lacustrine, organic };
inline constexpr std::size_t parent_material_count = 7;
std::string_view to_string(ParentMaterial kind);

/// What was noted that tells. Texts as written; empty: not noted.
struct ParentMaterialCues {
    std::string_view landform;
    std::optional<double> slope_deg;
    std::string_view fragment_shape;
    std::optional<double> fragments_pct;
    bool discontinuity = false;          ///< a numeric prefix of 2 or more stands in the profile
    bool organic_surface_thick = false;  ///< O horizons of 40 cm or more
};

/// Probability of each kind; sums to 1.
using ParentMaterialShares = std::array<double, parent_material_count>;

/// By a table of documented weights (common practice, no source) over a prior in favour of residuum.
ParentMaterialShares parent_material_shares(const ParentMaterialCues& cues);

/// Probability that the soil does not come from the rock below: all kinds but residuum, and half of colluvium (which
/// has moved down the slope, but often over its own rock).
double probability_transported(const ParentMaterialShares& shares);

}  // namespace subcrop::field
