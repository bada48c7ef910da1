// Notes turned into numbers. Distinct notes are few (chips, classes), so each is read once: a column of the survey
// becomes a list of distinct values and one code a horizon or stop.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/field/rock_depth.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

/// Distinct values and, for each item, which one it has; -1 where it has none.
template <class Value>
struct Coded {
    std::vector<Value> values;
    std::vector<std::int32_t> codes;
};

struct ColourValue {
    std::string notation;  ///< canonical, "7.5YR 4/4"
    field::Lab lab;        ///< mean of the chips where a range was written
};

/// Grain size of a horizon's fine earth in ilr coordinates, with its error.
struct TextureValue {
    std::string name;  ///< class code of the mean, "SIL"
    field::TextureClass texture_class = field::TextureClass::loam;
    /// Of a class alone: its region's; else class by feel, fractions and jar test together, the mean in steps of 0.05
    /// and the covariance one of a few kinds.
    field::IlrDistribution distribution;
    bool measured = false;  ///< measured fractions took part
};

struct Reduced {
    // one entry a horizon
    Coded<ColourValue> colour_moist;
    Coded<ColourValue> colour_dry;
    Coded<TextureValue> texture;
    Coded<std::string> effervescence;          ///< class codes
    Coded<std::string> fragment_kind;          ///< lower case, single spaces; one name a rock
    Coded<std::string> redox;                  ///< abundance of redoximorphic features
    Coded<std::vector<std::string>> minerals;  ///< lower case, sorted
    std::vector<field::Zone> zone;
    std::vector<std::uint8_t> weathered_rock;  ///< Cr
    std::vector<std::uint8_t> moved_by_people;
    std::vector<std::uint8_t> discontinuity;  ///< number of the parent material, 1 at the surface
    // one entry a stop
    Coded<std::string> landform;                ///< lower case, single spaces; one name a landform
    Coded<std::vector<std::string>> plants;     ///< taxa, sorted
    std::vector<std::uint8_t> plants_complete;  ///< the list is complete, or the note says that no plant was seen
    std::vector<float> p_transported;
    /// The probability where no cue was noted: by the survey's own table of weights where it has one.
    double p_transported_without_cue = field::probability_transported(field::parent_material_shares({}));
    std::vector<field::ParentMaterial> parent_material;  ///< the most probable kind
};

/// What was noted at a stop of where its soil came from. The views live as long as the survey.
field::ParentMaterialCues parent_material_cues(const Survey& survey, const Reduced& reduced, std::size_t stop);

/// How deep the rock lies at a stop.
field::RockDepth rock_depth(const Survey& survey, const Reduced& reduced, std::size_t stop);

/// Thickness of the cover that moves, from the notes as they stand: down to rock where it was reached; 0 where it lies
/// on another material (2C), for then that is what speaks.
std::optional<double> cover_thickness_cm(const Survey& survey, std::size_t stop);

/// Taxa of a note of plants by the names meant: hers, then ours.
std::vector<std::string> plants_meant(const Survey& survey, const std::string& note);

/// Reads every note of the survey; what cannot be read becomes a problem.
Reduced reduce(const Survey& survey, ProblemLog& problems);

}  // namespace subcrop::model
SUBCROP_EXPORT_END
