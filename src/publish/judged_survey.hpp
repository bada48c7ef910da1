// A survey after reading and judging: the common computation of `run`, `chapter` and `field`.
//
//     JudgedSurvey judged = judge_survey(file, {.threads = 2}, problems, progress);
//     judged.units[0].moist.chip
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/infer/disputed_area.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/proposals.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/publish/prepared_survey.hpp"

namespace subcrop::publish {

struct JudgeOptions {
    unsigned threads = 0;
    infer::DescribedBy described_by = infer::DescribedBy::posterior;
    bool follow_traverses = true;
    bool choose_next_stops = false;
    bool propose = false;  ///< list proposed changes, unless there are too many contacts
};

struct JudgedSurvey {
    std::unique_ptr<PreparedSurvey> data;   ///< the fit refers to it, so its address must not change
    std::optional<infer::RockPrior> prior;  ///< without a draft
    std::optional<infer::FirstMap> first;
    infer::Fit fit;
    infer::Relocation relocation;
    infer::RevisedMap revised;
    infer::Proposals proposals;                      ///< where they were asked for
    std::vector<infer::TraverseCourse> traverses;    ///< followed once, for layers and page
    std::vector<infer::TraverseCrossing> crossings;  ///< of all of them
    std::vector<infer::UnitSummary> units;
    std::vector<infer::NextStop> next_stops;  ///< the best first; if asked for
    std::vector<infer::DisputedArea> disputed;
};

/// Throws the Errors of reading. Also throws if there is neither a draft nor enough observed bedrock.
JudgedSurvey judge_survey(const io::SurveyFile& file, const JudgeOptions& options, ProblemLog& problems,
                          Progress& progress);

}  // namespace subcrop::publish
