// The data of each unit for the report page.
#pragma once

#include <vector>

#include "publish/report_values.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

/// An object for each unit, in the legend's order. Keys are explained in page/page.js beside their use.
Json report_units(const model::Survey& survey, const std::vector<infer::UnitSummary>& units);

}  // namespace subcrop::publish
