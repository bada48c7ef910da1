// How far to trust a survey's answers: its draft is made wrong on purpose and then judged. The library call behind
// `subcrop trial`.
//
//     TrialSummary summary = try_survey("survey.json", {.seeds = 3}, progress);  // writes trial.json among the results
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/infer/trial.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct TrialRunOptions {
    unsigned threads = 0;                               ///< 0: all the machine has; changes no result
    unsigned seeds = 3;                                 ///< wrong drafts for each size of warp
    std::optional<std::filesystem::path> results = {};  ///< folder instead of the survey file's own
};

struct TrialSummary {
    std::string title;
    double contact_sd_m = 0;
    double false_discovery_rate = 0;  ///< asked for
    std::size_t patches = 0;          ///< relabelled in each wrong draft
    unsigned seeds = 0;
    infer::Trial trial;
    std::filesystem::path file;  ///< trial.json
};

/// The figures as JSON, with two spaces' indent.
std::string trial_json(const TrialSummary& summary);

/// Throws Error if the survey cannot be read, no stop is on the draft, or trial.json cannot be written.
TrialSummary try_survey(const std::filesystem::path& survey_file, const TrialRunOptions& options, Progress& progress);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
