// The user's own tables: names of plants, rocks, minerals and landforms, and weights for the origin of soil.
#pragma once

#include "subcrop/core/problem.hpp"
#include "subcrop/field/kind_names.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/io/survey_file.hpp"

namespace subcrop::io {

/// The table named by `plants`: columns `written` and `taxon`.
field::PlantNames read_plant_names(const SurveyFile& file, ProblemLog& problems);

/// The table named by `names`: columns `kind` (rock, texture ...), `written` and `meant`.
field::KindNames read_kind_names(const SurveyFile& file, ProblemLog& problems);

/// The table named by `parent_material_weights`: columns `cue`, `word` and one for each kind of material. What it does
/// not name keeps its default; an empty weight is 1.
field::ParentMaterialTable read_parent_material_weights(const SurveyFile& file, ProblemLog& problems);

}  // namespace subcrop::io
