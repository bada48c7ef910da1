// Did the soil come from the rock below, or is it transported?
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

enum class ParentMaterial : std::uint8_t { residuum, colluvium, alluvium, aeolian, glacial, lacustrine, organic };
inline constexpr std::size_t parent_material_count = 7;
std::string_view to_string(ParentMaterial kind);

/// The notes that are used. Texts as written; empty: not noted.
struct ParentMaterialCues {
    std::string_view landform;
    std::optional<double> slope_deg;
    std::string_view fragment_shape;
    std::optional<double> fragments_pct;
    bool several_kinds = false;          ///< fragments of three kinds of rock or more, or 'mixed'
    std::string_view notes = {};         ///< words such as 'stratified' or 'well sorted' are looked for
    bool discontinuity = false;          ///< a numeric prefix of 2 or more stands in the profile
    bool moved_by_people = false;        ///< a caret stands before the lowest material's designation
    bool organic_surface_thick = false;  ///< O horizons of 40 cm or more
    friend bool operator==(const ParentMaterialCues&, const ParentMaterialCues&) = default;
};

/// Probability of each kind; sums to 1.
using ParentMaterialShares = std::array<double, parent_material_count>;

/// How much more often a cue occurs on each kind of material than on the others. 1 is no evidence, 10 is clear, 100
/// outweighs the prior. The defaults are common practice put into numbers, no source. A survey may set its own.
class ParentMaterialTable {
public:
    /// The defaults.
    ParentMaterialTable();

    /// Sets the weights of one cue. `cue` is prior, landform, shape, slope, fragments, notes or profile. `word` is a
    /// landform, shape or word of a note in any spelling, or a fixed condition ("15 or more", "discontinuity").
    /// Landforms, shapes and words of notes may be new. Weights are above 0. Returns what is wrong, or nothing.
    std::string set(std::string_view cue, std::string_view word, const ParentMaterialShares& weights);
    /// Null if the table has no such cue.
    const ParentMaterialShares* find(std::string_view cue, std::string_view word) const;

    static const ParentMaterialTable& defaults();
    /// Cues, and the words of those whose words are fixed.
    static const std::vector<std::string>& cues();
    static std::vector<std::string> fixed_words(std::string_view cue);

private:
    std::map<std::string, std::unordered_map<std::string, ParentMaterialShares>, std::less<>> weights_;
};

/// Landforms and shapes of fragments to pick from, as a person writes them; each is a word of the default table.
std::span<const std::string_view> landform_terms();
std::span<const std::string_view> fragment_shape_terms();

/// Whether any word of a landform as written has weights in the table.
bool knows_landform(std::string_view landform, const ParentMaterialTable& table = ParentMaterialTable::defaults());

/// Bayes' rule with the table's prior; each cue is used once.
ParentMaterialShares parent_material_shares(const ParentMaterialCues& cues,
                                            const ParentMaterialTable& table = ParentMaterialTable::defaults());

/// The strongest cues, at most three, for the most probable kind: against residuum, or for residuum against the next
/// kind. "flood plain, rounded fragments"; empty if there are none.
std::string parent_material_reason(const ParentMaterialCues& cues,
                                   const ParentMaterialTable& table = ParentMaterialTable::defaults());

/// Probability that the soil does not come from the rock below: all kinds except residuum, and half of colluvium (which
/// moved down the slope, but often over its own rock).
double probability_transported(const ParentMaterialShares& shares);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
