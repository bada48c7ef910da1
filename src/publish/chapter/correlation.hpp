// Which units soil alone confuses.
#pragma once

#include <string>

#include "publish/chapter/document.hpp"
#include "publish/judged_survey.hpp"

namespace subcrop::publish::chapter {

/// "Ll and Pm are most easily confused: ..."
std::string most_confused_sentence(const model::Survey& survey, const std::vector<infer::UnitSummary>& units);

/// One row for each unit, over the stops known to lie on it: the mean probability (percent) of each unit by soil alone,
/// and the number of stops at which soil names it.
Table correlation_table(const JudgedSurvey& judged);

}  // namespace subcrop::publish::chapter
