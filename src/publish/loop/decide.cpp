#include <algorithm>
#include <utility>

#include "io/nearest_name.hpp"
#include "io/run_clock.hpp"
#include "publish/loop/decisions.hpp"
#include "publish/loop/proposal_words.hpp"
#include "publish/results_folder.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/next_draft.hpp"

namespace subcrop::publish {

namespace fs = std::filesystem;

DecideSummary decide(const fs::path& survey_file, const DecideOptions& options) {
    const io::SurveyFile file = io::read_survey_file(survey_file);
    const fs::path results = results_folder(file, options.results) / "results.gpkg";
    ProblemLog problems;
    const std::string crs = io::decision_crs(results);
    KnownProposals known = gather_decisions(file, results, crs, problems);
    if (known.earlier.empty() && known.decided.empty())
        throw Error({.source = results.string()}, "there are no proposals to decide on",
                    "Run 'subcrop run' on the survey first; a right draft has none.");
    DecideSummary summary;
    summary.file = io::decisions_file(file);
    if (options.table) summary.taken = take_decisions(file, *options.table, known, crs, problems);
    std::vector<io::DecisionRow> changed;
    const std::string now = io::utc_text(io::run_time(), "%Y-%m-%dT%H:%M:%SZ");
    for (const std::string& id : options.ids) {
        const auto of_id = [&](const io::DecisionRow& row) { return io::lower(row.id) == io::lower(id); };
        auto found = std::find_if(known.earlier.begin(), known.earlier.end(), of_id);
        if (found == known.earlier.end()) {
            found = std::find_if(known.decided.begin(), known.decided.end(), of_id);
            if (found == known.decided.end()) {
                std::vector<std::string> ids;
                for (const io::DecisionRow& row : known.earlier) ids.push_back(row.id);
                throw Error({.source = results.string(), .layer = "proposals"}, "there is no proposal '" + id + "'",
                            io::did_you_mean(id, ids) + "Proposals: " + io::listed(ids) + ".");
            }
        }
        io::DecisionRow row = *found;
        row.decision = options.decision;
        row.why = options.why;
        row.decided_on = now;
        changed.push_back(std::move(row));
    }
    io::write_decisions(summary.file, crs, changed);
    summary.taken += changed.size();
    for (const io::DecisionRow& row : changed) summary.proposals.push_back(as_decided(row));
    if (changed.empty()) {
        for (const io::DecisionRow& row : known.earlier) {
            const auto stored = std::find_if(known.decided.begin(), known.decided.end(),
                                             [&](const io::DecisionRow& one) { return one.id == row.id; });
            // A proposal that the run shows again is open until it is decided again.
            const bool decided_since =
                stored != known.decided.end() && (row.note.empty() || stored->decided_on != row.decided_on);
            summary.proposals.push_back(as_decided(decided_since ? *stored : row));
        }
    }
    summary.problems = problems.sorted();
    return summary;
}

}  // namespace subcrop::publish
