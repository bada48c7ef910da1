// Reads everything a survey file names into one Survey in the working projection.
#pragma once

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// Reads, cleans and locates. A bad row becomes a problem and its good fields are kept. Throws Error if a source cannot
/// be opened, a needed layer or column is missing, or a coordinate operation is refused. `threads` 0: all the machine
/// has; the result does not depend on it.
model::Survey read_survey(const SurveyFile& file, unsigned threads, ProblemLog& problems, Progress& progress);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
