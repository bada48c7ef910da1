// The section of one unit: what it is, where it lies, its soil, how to distinguish it from its neighbours, and what is
// not known.
#pragma once

#include <vector>

#include "publish/chapter/document.hpp"
#include "publish/judged_survey.hpp"

namespace subcrop::publish::chapter {

std::vector<Block> unit_section(const JudgedSurvey& judged, model::UnitIndex unit);

/// "unit-Kb": for the links of the page; a code of other signs gets its number.
std::string unit_id(const model::Survey& survey, model::UnitIndex unit);

}  // namespace subcrop::publish::chapter
