// Decisions so far, from every place where the user may decide. They are collected before the computation, so that no
// run replaces a decision.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "io/decision_file.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/io/survey_file.hpp"

namespace subcrop::publish {

struct KnownProposals {
    std::vector<io::DecisionRow> decided;  ///< decisions.gpkg, by id
    std::vector<io::DecisionRow> earlier;  ///< the proposals of the last run; none: there was no run
};

/// Reads decisions.gpkg and the last run's proposals. Later decisions, written by the user into these or in
/// decisions.csv, are added to decisions.gpkg. Throws Error if it cannot be written. `crs_wkt`: the working system of
/// the survey.
KnownProposals gather_decisions(const io::SurveyFile& file, const std::filesystem::path& results_file,
                                const std::string& crs_wkt, ProblemLog& problems);

/// The same from one table in any folder, such as one that the page saved. Returns how many were new.
std::size_t take_decisions(const io::SurveyFile& file, const std::filesystem::path& table, KnownProposals& known,
                           const std::string& crs_wkt, ProblemLog& problems);

}  // namespace subcrop::publish
