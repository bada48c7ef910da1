// The section of one unit: what it is, where it lies, its soil, how to distinguish it from its neighbours, and what is
// not known.
#pragma once

#include <vector>

#include "publish/chapter/document.hpp"
#include "publish/judged_survey.hpp"
#include "publish/stop_photos.hpp"

namespace subcrop::publish::chapter {

/// `photos`: of all stops, in their order. Small copies of those of the type stops come into the section.
std::vector<Block> unit_section(const JudgedSurvey& judged, model::UnitIndex unit,
                                const std::vector<StopPhoto>& photos);

/// "unit-Kb": for the links of the page; a code of other signs gets its number.
std::string unit_id(const model::Survey& survey, model::UnitIndex unit);

}  // namespace subcrop::publish::chapter
