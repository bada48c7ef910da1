#include "cli/summary_json.hpp"

#include <nlohmann/json.hpp>
#include <optional>

#include "cli/visible.hpp"

namespace subcrop::cli {

namespace {

using Json = nlohmann::ordered_json;

Json problem_json(const Problem& p) {
    Json json{{"severity", to_string(p.severity)}, {"source", p.source}};
    json["row"] = p.row ? Json(*p.row) : Json(nullptr);
    json["stop"] = p.stop;
    json["field"] = p.field;
    json["value"] = p.value;
    json["message"] = p.message;
    json["remedy"] = p.remedy;
    json["x"] = p.position ? Json(p.position->x) : Json(nullptr);
    json["y"] = p.position ? Json(p.position->y) : Json(nullptr);
    return json;
}

Json problems_json(const std::vector<Problem>& problems) {
    Json json = Json::array();
    for (const Problem& p : problems) json.push_back(problem_json(p));
    return json;
}

Json highlights_json(const std::vector<publish::Highlight>& highlights) {
    Json json = Json::array();
    for (const publish::Highlight& h : highlights) json.push_back({{"name", h.name}, {"reason", h.reason}});
    return json;
}

Json operations_json(const std::vector<model::CoordinateOperation>& operations) {
    Json json = Json::array();
    for (const model::CoordinateOperation& o : operations) {
        json.push_back({{"source", o.source},
                        {"from", o.from},
                        {"to", o.to},
                        {"operation", o.name},
                        {"accuracy_m", o.accuracy_m ? Json(*o.accuracy_m) : Json(nullptr)},
                        {"ballpark", o.ballpark}});
    }
    return json;
}

Json folders_json(const std::vector<std::filesystem::path>& folders) {
    Json json = Json::array();
    for (const auto& folder : folders) json.push_back(folder.string());
    return json;
}

Json cut_texts_json(const std::vector<publish::CutTexts>& all) {
    Json json = Json::array();
    for (const publish::CutTexts& cut : all)
        json.push_back({{"format", cut.format}, {"layer", cut.layer}, {"column", cut.column}, {"rows", cut.rows}});
    return json;
}

Json counts_json(std::size_t errors, std::size_t warnings, std::size_t notes) {
    return {{"errors", errors}, {"warnings", warnings}, {"notes", notes}};
}

Json changes_json(const publish::RunChanges& changes) {
    if (changes.headline.empty()) return nullptr;
    Json rows = Json::array();
    for (const publish::Change& c : changes.rows) {
        rows.push_back({{"kind", to_string(c.kind)},
                        {"what", c.what},
                        {"before", c.before},
                        {"after", c.after},
                        {"sentence", c.sentence},
                        {"x", c.place ? Json(c.place->x) : Json(nullptr)},
                        {"y", c.place ? Json(c.place->y) : Json(nullptr)}});
    }
    return {{"since", changes.since}, {"headline", changes.headline}, {"rows", std::move(rows)}};
}

std::string text_of(const Json& json) {
    return visible_in_json(json.dump(2, ' ', false, Json::error_handler_t::replace));
}

}  // namespace

const char* const run_json_keys =
    "Keys of --json:\n"
    "  title, stops, without_draft   without_draft: a first map was drawn\n"
    "  results, report, grid, other_formats, database   files, folders and tables written; null: not written\n"
    "  cut_texts       texts too long for a shapefile: format, layer, column, rows\n"
    "  verdicts        number of stops of each verdict\n"
    "  headline        the answer in one sentence; null without a draft\n"
    "  elsewhere       the same in figures: length_m, of_m, mean_m, min_m, max_m, stretches\n"
    "  stretches       the five largest misplaced stretches: name, reason\n"
    "  changes         what differs from the last run of other inputs, null if there was none: since, headline,\n"
    "                  rows (kind, what, before, after, sentence, x, y)\n"
    "  proposals       the five open ones with the largest expected correction: name (id), reason (what to do)\n"
    "  proposal_counts open, accepted, later, rejected, shown_again\n"
    "  conflicts, contacts, disputed   the worst first: name, reason\n"
    "  contacts_without_stops   number of contacts that should move, inferred from neighbouring contacts\n"
    "  contact_shift   decided_by, amplitude_m, reach_m (correlation length), gain, gain_error; amplitude 0: left as "
    "drawn\n"
    "  next_stops      the five that gain most: name (rank), reason\n"
    "  next_stops_worth   what all of them are expected to correct, or null\n"
    "  skill           how often soil alone was right in cross-validation: known_by, stops, log_loss, share_log_loss,\n"
    "                  accuracy, share_accuracy; null if no unit was known\n"
    "  calibrated      whether enough bedrock was observed to check the probabilities\n"
    "  first_map_range a sentence if observed bedrock does not show how far units reach, or null\n"
    "  coordinate_operations   source, from, to, operation, accuracy_m, ballpark\n"
    "  problem_counts  errors, warnings, notes\n"
    "  problems        the first ten: severity, source, row, stop, field, value, message, remedy, x, y";

const char* const check_json_keys =
    "Keys of --json:\n"
    "  title, stops, horizons, polygons\n"
    "  to_fill_in      what has no rows yet: key, source, needed\n"
    "  coordinate_operations   source, from, to, operation, accuracy_m, ballpark\n"
    "  problem_counts  errors, warnings, notes\n"
    "  problems        severity, source, row, stop, field, value, message, remedy, x, y";

std::string to_json(const publish::RunSummary& s) {
    Json verdicts = Json::object();
    for (std::size_t i = 0; i < s.verdicts.size(); ++i)
        verdicts[std::string(to_string(static_cast<infer::Verdict>(i)))] = s.verdicts[i];
    Json skill = nullptr;
    if (s.skill.stops > 0) {
        skill = {{"known_by", s.skill.known_by}, {"stops", s.skill.stops},
                 {"log_loss", s.skill.log_loss}, {"share_log_loss", s.skill.share_log_loss},
                 {"accuracy", s.skill.accuracy}, {"share_accuracy", s.skill.share_accuracy}};
    }
    return text_of({{"title", s.title},
                    {"results", s.result_file.string()},
                    {"report", s.report_file.empty() ? Json(nullptr) : Json(s.report_file.string())},
                    {"grid", s.grid_file.empty() ? Json(nullptr) : Json(s.grid_file.string())},
                    {"other_formats", folders_json(s.other_formats)},
                    {"cut_texts", cut_texts_json(s.cut_texts)},
                    {"database", s.database.empty() ? Json(nullptr) : Json(s.database)},
                    {"without_draft", s.without_draft},
                    {"first_map_range", s.first_map_range.empty() ? Json(nullptr) : Json(s.first_map_range)},
                    {"stops", s.stops},
                    {"verdicts", verdicts},
                    {"changes", changes_json(s.changes)},
                    {"conflicts", highlights_json(s.conflicts)},
                    {"contacts", highlights_json(s.contacts)},
                    {"contacts_without_stops", s.contacts_without_stops},
                    {"headline", s.headline.empty() ? Json(nullptr) : Json(s.headline)},
                    {"elsewhere",
                     {{"length_m", s.elsewhere.length_m},
                      {"of_m", s.elsewhere.of_m},
                      {"mean_m", s.elsewhere.mean_m},
                      {"min_m", s.elsewhere.min_m},
                      {"max_m", s.elsewhere.max_m},
                      {"stretches", s.elsewhere.stretches}}},
                    {"stretches", highlights_json(s.stretches)},
                    {"proposals", highlights_json(s.proposals)},
                    {"proposal_counts",
                     {{"open", s.decided.open},
                      {"accepted", s.decided.accepted},
                      {"later", s.decided.later},
                      {"rejected", s.decided.rejected},
                      {"shown_again", s.decided.shown_again}}},
                    {"disputed", highlights_json(s.disputed)},
                    {"next_stops", highlights_json(s.next_stops)},
                    {"next_stops_worth", s.next_stops_worth.empty() ? Json(nullptr) : Json(s.next_stops_worth)},
                    {"contact_shift",
                     {{"decided_by", s.shift_decided_by},
                      {"amplitude_m", s.shift.amplitude_m},
                      {"reach_m", s.shift.reach_m},
                      {"gain", s.shift.gain},
                      {"gain_error", s.shift.gain_error}}},
                    {"skill", skill},
                    {"calibrated", s.calibrated},
                    {"coordinate_operations", operations_json(s.operations)},
                    {"problem_counts", counts_json(s.problem_errors, s.problem_warnings, s.problem_notes)},
                    {"problems", problems_json(s.first_problems)}});
}

std::string to_json(const publish::CheckSummary& s) {
    std::size_t counts[3] = {};
    for (const Problem& p : s.problems) ++counts[static_cast<std::size_t>(p.severity)];
    Json to_fill_in = Json::array();
    for (const io::EmptySource& part : s.to_fill_in)
        to_fill_in.push_back({{"key", part.key}, {"source", part.source}, {"needed", part.needed}});
    return text_of({{"title", s.title},
                    {"to_fill_in", to_fill_in},
                    {"stops", s.stops},
                    {"horizons", s.horizons},
                    {"polygons", s.polygons},
                    {"coordinate_operations", operations_json(s.operations)},
                    {"problem_counts", counts_json(counts[static_cast<std::size_t>(Severity::error)],
                                                   counts[static_cast<std::size_t>(Severity::warning)],
                                                   counts[static_cast<std::size_t>(Severity::note)])},
                    {"problems", problems_json(s.problems)}});
}

}  // namespace subcrop::cli
