// Where next stops are allowed: tracks to keep to and no-go areas.
#pragma once

#include "subcrop/core/problem.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::io {

/// Fills `tracks`, `track_reach_m` and `no_go` of the survey, in the working projection. A row of another kind of
/// geometry, or outside the area in which the systems hold, becomes a problem.
void read_ways(const SurveyFile& file, const geo::Crs& working, model::Survey& survey, ProblemLog& problems);

}  // namespace subcrop::io
