// Metadata in the result file about its run.
#pragma once

#include <string>

#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

/// JSON: version, inputs as the survey file names them with their counts, settings, coordinate operations, weights of
/// the channels, for a first map the range of a unit, and the skill of the soil at known stops. Nothing in it changes
/// from one run to the next.
std::string run_metadata(const io::SurveyFile& file, const model::Survey& survey, std::size_t polygons,
                         const infer::Fit& fit, const infer::RockPrior* prior = nullptr,
                         const infer::FirstMap* first = nullptr,
                         infer::DescribedBy described_by = infer::DescribedBy::posterior);

}  // namespace subcrop::publish
