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

/// Distinct values and, for each item, the index of its value; -1 if it has none.
template <class Value>
struct Coded {
    std::vector<Value> values;
    std::vector<std::int32_t> codes;
};

struct ColourValue {
    std::string notation;  ///< canonical, "7.5YR 4/4"
    field::Lab lab;        ///< mean of the chips if a range was written
};

/// Grain size of a horizon's fine earth in ilr coordinates, with its error.
struct TextureValue {
    std::string name;  ///< class code of the mean, "SIL"
    field::TextureClass texture_class = field::TextureClass::loam;
    /// For a class alone: the distribution of its region. Else class by feel, fractions and jar test combined; the mean
    /// is rounded to 0.05, and the covariance to a few kinds.
    field::IlrDistribution distribution;
    bool measured = false;  ///< measured fractions were used
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
    /// The probability without any cue: by the survey's own table of weights, if it has one.
    double p_transported_without_cue = field::probability_transported(field::parent_material_shares({}));
    std::vector<field::ParentMaterial> parent_material;  ///< the most probable kind
};

/// The notes of a stop on the origin of its soil. The views live as long as the survey.
field::ParentMaterialCues parent_material_cues(const Survey& survey, const Reduced& reduced, std::size_t stop);

/// How deep the rock lies at a stop.
field::RockDepth rock_depth(const Survey& survey, const Reduced& reduced, std::size_t stop);

/// Thickness of the moving cover, from the notes: down to rock, if rock was reached. 0 if it lies on another material
/// (2C), because then that material is the evidence.
std::optional<double> cover_thickness_cm(const Survey& survey, std::size_t stop);

/// Taxa of a note on plants, by the user's names first, then ours.
std::vector<std::string> plants_meant(const Survey& survey, const std::string& note);

/// Reads every note of the survey; a note that cannot be read becomes a problem.
Reduced reduce(const Survey& survey, ProblemLog& problems);

}  // namespace subcrop::model
SUBCROP_EXPORT_END
