#include "publish/loop/decisions.hpp"

#include <algorithm>
#include <utility>

#include "io/nearest_name.hpp"
#include "io/own_sources.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;

io::DecisionRow* find(std::vector<io::DecisionRow>& rows, const std::string& id) {
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const io::DecisionRow& row) { return row.id == id; });
    return found == rows.end() ? nullptr : &*found;
}

/// Decisions later than the known ones, each with the evidence of its proposal.
std::vector<io::DecisionRow> later_ones(const std::vector<io::DecisionRow>& found, KnownProposals& known,
                                        const std::string& source, ProblemLog& problems) {
    std::vector<io::DecisionRow> changed;
    for (const io::DecisionRow& row : found) {
        const io::DecisionRow* const stored = find(known.decided, row.id);
        if (stored != nullptr && stored->decided_on >= row.decided_on) continue;
        if (stored == nullptr && row.decision == "open") continue;
        const io::DecisionRow* const proposal = find(known.earlier, row.id);
        if (proposal == nullptr && stored == nullptr) {
            problems.add({.severity = Severity::warning,
                          .source = source,
                          .row = std::nullopt,
                          .field = "id",
                          .value = row.id,
                          .message = "the last run has no proposal of this id; the decision is passed over",
                          .remedy = "Take the id from the layer 'proposals' of results.gpkg.",
                          .position = std::nullopt});
            continue;
        }
        io::DecisionRow decided = proposal != nullptr ? *proposal : *stored;
        decided.decision = row.decision;
        decided.why = row.why;
        decided.decided_on = row.decided_on;
        changed.push_back(std::move(decided));
    }
    return changed;
}

void store(const io::SurveyFile& file, const std::string& crs_wkt, const std::vector<io::DecisionRow>& changed,
           KnownProposals& known) {
    io::refuse_to_replace(io::sources_of(file), {io::decisions_file(file)});
    io::write_decisions(io::decisions_file(file), crs_wkt, changed);
    for (const io::DecisionRow& row : changed) {
        if (io::DecisionRow* const stored = find(known.decided, row.id))
            *stored = row;
        else
            known.decided.push_back(row);
    }
}

}  // namespace

KnownProposals gather_decisions(const io::SurveyFile& file, const fs::path& results_file, const std::string& crs_wkt,
                                ProblemLog& problems) {
    KnownProposals known;
    known.decided = io::read_decisions(io::decisions_file(file), io::decisions_layer, crs_wkt, problems);
    known.earlier = io::read_decisions(results_file, "proposals", crs_wkt, problems);
    std::vector<io::DecisionRow> by_hand;
    for (const io::DecisionRow& row : known.earlier) {
        if (row.decision == row.decision_then) continue;
        by_hand.push_back(row);
        const io::DecisionRow* const stored = find(known.decided, row.id);
        // Without a written date the date of the file is used.
        if (row.decided_on.empty() || (stored != nullptr && stored->decided_on == row.decided_on))
            by_hand.back().decided_on = io::written_on(results_file);
    }
    store(file, crs_wkt, later_ones(by_hand, known, results_file.filename().string(), problems), known);
    take_decisions(file, io::decision_table(file), known, crs_wkt, problems);
    return known;
}

std::size_t take_decisions(const io::SurveyFile& file, const fs::path& table, KnownProposals& known,
                           const std::string& crs_wkt, ProblemLog& problems) {
    std::vector<io::DecisionRow> rows = io::read_decision_table(table, problems);
    std::erase_if(rows, [&](const io::DecisionRow& row) {
        // A row without a date that repeats a known decision is nothing new.
        const io::DecisionRow* const stored = find(known.decided, row.id);
        return row.decided_on.empty() && stored != nullptr && stored->decision == row.decision;
    });
    for (io::DecisionRow& row : rows)
        if (row.decided_on.empty()) row.decided_on = io::written_on(table);
    const std::vector<io::DecisionRow> changed = later_ones(rows, known, table.filename().string(), problems);
    store(file, crs_wkt, changed, known);
    return changed.size();
}

}  // namespace subcrop::publish
