// A survey read and judged: what every verb that shows results begins with, so that all of them show the same.
//
//     const std::unique_ptr<Reckoned> all = reckon(read_survey_file(path), {.threads = 0}, problems, progress);
//     all->next_stops
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/infer/disputed_ground.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/prepared_survey.hpp"

namespace subcrop::publish {

/// Its parts refer to one another: it stays where it was made.
struct Reckoned {
    PreparedSurvey data;
    std::optional<infer::RockPrior> prior = {};  ///< where there is no draft
    infer::Fit fit = {};
    infer::Relocation relocation = {};
    std::optional<infer::FirstMap> first = {};  ///< where there is no draft
    std::vector<infer::TraverseCrossing> crossings = {};
    std::vector<infer::UnitSummary> units = {};
    std::vector<infer::NextStop> next_stops = {};
    std::vector<infer::DisputedGround> disputed = {};
};

struct ReckonOptions {
    unsigned threads = 0;  ///< 0: all the machine has; changes no result
};

/// Throws Error where the run is impossible.
std::unique_ptr<Reckoned> reckon(const io::SurveyFile& file, const ReckonOptions& options, ProblemLog& problems,
                                 Progress& progress);

}  // namespace subcrop::publish
