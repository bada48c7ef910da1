// Which unit is taken for which by its soil alone.
#pragma once

#include <string>

#include "publish/chapter/document.hpp"
#include "publish/judged_survey.hpp"

namespace subcrop::publish::chapter {

/// "Ll and Pm are most easily confused: ..."
std::string most_confused_sentence(const model::Survey& survey, const std::vector<infer::UnitSummary>& units);

/// One row a unit: mean probability in percent that the soil alone gives each unit where this one is known to lie, and
/// at how many of these stops it names it.
Table correlation_table(const JudgedSurvey& judged);

}  // namespace subcrop::publish::chapter
