// The legend: what each map unit is, and the soil expected over it.
#pragma once

#include <string>
#include <vector>

#include "subcrop/core/problem.hpp"
#include "subcrop/field/kind_names.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/legend.hpp"

namespace subcrop::io {

/// Units in the legend's order; `names` has the user's words for textures and reactions. None, with a warning, where it
/// names none. Throws Error when the source cannot be read.
std::vector<model::LegendUnit> read_legend(const SurveyFile& file, const field::KindNames& names, ProblemLog& problems);

/// Adds the map's codes that the legend lacks (all of them, sorted, when there is no legend), each with a warning and
/// the nearest code where there is a legend.
void complete_legend(std::vector<model::LegendUnit>& units, std::vector<std::string> map_codes, bool has_legend,
                     const std::string& map_source, const std::string& column, ProblemLog& problems);

}  // namespace subcrop::io
