// What the field book and the draft map say against each other before any reckoning.
#pragma once

#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// Rock seen inside a polygon of another unit, farther from every contact than the error of the stop's position and that of
/// a contact (`survey.contact_sd_m`) together. Each becomes a note: the draft may be wrong, which is what the run is for.
void audit_rock_seen(const model::Survey& survey, const geo::UnitMap& map, ProblemLog& problems);

}  // namespace subcrop::infer
