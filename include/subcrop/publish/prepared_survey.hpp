// A survey after reading, with notes turned into numbers and the map prepared: everything before learning and judging.
//
//     const PreparedSurvey data = prepare_survey(io::read_survey_file(path), threads, problems, progress);
//     infer::Fit fit = infer::fit_stops(data.survey, data.reduced, data.map, threads, problems, progress);
#pragma once

#include <cstddef>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct PreparedSurvey {
    model::Survey survey;      ///< without its map polygons, which the map has taken over
    std::size_t polygons = 0;  ///< how many the draft had
    geo::UnitMap map;
    model::Reduced reduced;
    std::vector<geo::ContactTrace>
        traces;  ///< of contacts that may follow the measured beds; none without attitudes or terrain
};

/// Reads all that the file names, samples the terrain at every stop, and audits the notes. Throws the Errors of
/// reading.
PreparedSurvey prepare_survey(const io::SurveyFile& file, unsigned threads, ProblemLog& problems, Progress& progress);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
