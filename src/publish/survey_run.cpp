#include "subcrop/publish/survey_run.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <future>
#include <iterator>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "io/input_digest.hpp"
#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "io/run_clock.hpp"
#include "publish/answer_raster.hpp"
#include "publish/database.hpp"
#include "publish/first_map_words.hpp"
#include "publish/highlights.hpp"
#include "publish/judged_survey.hpp"
#include "publish/loop/decisions.hpp"
#include "publish/loop/proposal_list.hpp"
#include "publish/loop/run_changes.hpp"
#include "publish/loop/run_record.hpp"
#include "publish/other_formats.hpp"
#include "publish/results_folder.hpp"
#include "publish/run_metadata.hpp"
#include "publish/stop_photos.hpp"
#include "publish/styles.hpp"
#include "publish/unit_table.hpp"
#include "publish/where_contacts_run.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/io/new_survey.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/audit.hpp"
#include "subcrop/publish/prepared_survey.hpp"
#include "subcrop/publish/report.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

namespace {

constexpr std::size_t highlights = 5;
constexpr std::size_t problems_shown = 10;
constexpr const char* history_folder = "history";

namespace fs = std::filesystem;

/// Checked before anything is read, because a run may take long.
void refuse_to_overwrite_input(const io::SurveyFile& file, const fs::path& results, const RunOptions& options) {
    const io::FileDefinition definition = result_definition({});
    std::vector<fs::path> written;
    const auto add = [&](const std::vector<fs::path>& more) {
        written.insert(written.end(), more.begin(), more.end());
    };
    const fs::path folder = results.parent_path();
    add(io::files_written_for(results));
    for (const char* name : {"units.csv", "report.html"}) add(io::files_written_for(folder / name));
    for (const io::LayerDefinition& layer : definition.layers)
        add(io::files_written_for(folder / "styles" / (layer.name + ".sld")));
    for (const OutputFormat format : options.formats) add(files_written_for(folder, format, definition));
    if (options.grid_m) add(io::files_written_for(folder / "confidence.tif"));
    add(io::files_written_for(new_record_path(folder / history_folder, io::run_time())));
    io::refuse_to_replace(io::files_of(file), written);
}

/// The file that `trial` wrote there; empty if none.
std::string earlier_trial(const fs::path& path) {
    std::error_code none;
    if (!fs::is_regular_file(path, none)) return {};  // a pipe might never end
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

void write_confidence(const fs::path& target, const JudgedSurvey& judged, const AnswerRaster& options,
                      io::PendingFiles& together) {
    const PreparedSurvey& data = *judged.data;
    if (!judged.first && judged.fit.answer.empty())
        throw Error({.source = target.string()},
                    "--grid needs the answer for the whole map, and the settings do not ask for it",
                    "Set \"move_contacts\": true in the survey file's settings, or leave out --grid.");
    const auto at = [&](Point place, std::span<float> p) {
        judged.first ? infer::probability_at(*judged.first, place, p) : judged.fit.answer.at(place, p);
    };
    write_answer_raster(target, data.survey, data.map, at, options, together);
}

RunSummary::Decided decided_so_far(const std::vector<ListedProposal>& listed) {
    const ProposalCounts counts = counts_of(listed);
    RunSummary::Decided decided{counts.open, counts.accepted, counts.rejected, counts.later, 0};
    for (const ListedProposal& one : listed) decided.shown_again += one.open() && !one.row.note.empty();
    return decided;
}

double mapped_ground_m2(const std::vector<infer::UnitSummary>& units) {
    double sum = 0;
    for (const infer::UnitSummary& unit : units) sum += unit.area_m2;
    return sum;
}

}  // namespace

std::string_view version() { return SUBCROP_VERSION; }

RunSummary run_survey(const std::filesystem::path& survey_file, const RunOptions& options, Progress& progress) {
    return run_survey(io::read_survey_file(survey_file), options, progress);
}

RunSummary run_survey(const io::SurveyFile& file, const RunOptions& options, Progress& progress) {
    RunSummary summary;
    summary.result_file = results_folder(file, options.results) / "results.gpkg";
    refuse_to_overwrite_input(file, summary.result_file, options);
    if (options.database) check_database(*options.database);  // checked now rather than at the end

    const std::time_t date = io::run_time();
    std::future<std::string> digest = std::async(std::launch::async, [&file] { return io::digest_of_inputs(file); });
    ProblemLog problems;
    const bool without_draft = !file.map;
    const JudgedSurvey judged = judge_survey(
        file,
        {.threads = options.threads, .described_by = options.described_by, .choose_next_stops = true, .propose = true},
        problems, progress);
    const PreparedSurvey& data = *judged.data;
    const auto& [own, prior, first, fit, relocation, revised, proposals, traverses, crossings, units, next_stops,
                 disputed] = judged;
    const std::vector<ListedProposal> listed =
        list_proposals(data.survey, data.map, relocation, proposals,
                       gather_decisions(file, summary.result_file, data.survey.crs_wkt, problems));
    const std::vector<StopPhoto> photos = match_photos(file, data.survey, problems);
    const fs::path history_of = fs::path(summary.result_file).replace_filename(history_folder);
    const std::string inputs = digest.get();
    const History history = read_history(history_of, inputs, options.superseded_record, problems);
    const auto record = std::make_shared<const RunRecord>(
        record_of(data.survey, data.map, fit, relocation, inputs, history.own ? history.own->date : date));
    if (history.before) summary.changes = changes_since(*history.before, *record);
    const bool few_enough = data.survey.stops.size() <= max_report_stops,
               report_wanted = options.report.value_or(few_enough);
    Results results{data.survey,
                    data.reduced,
                    data.map,
                    fit,
                    relocation,
                    revised,
                    traverses,
                    crossings,
                    units,
                    next_stops,
                    model::with_stops_named(data.survey, problems.sorted()),
                    run_metadata(file, data.survey, data.polygons, fit, prior ? &*prior : nullptr,
                                 first ? &*first : nullptr, options.described_by),
                    disputed,
                    report_wanted ? pictures_of(photos) : std::vector<StopPicture>(),
                    earlier_trial(fs::path(summary.result_file).replace_filename("trial.json")),
                    &listed,
                    summary.changes,
                    report_wanted ? zones_of(relocation, data.map, options.threads) : std::vector<MultiPolygon>()};
    if (report_wanted) results.reasons = reasons_of(results, options.threads);
    io::PendingFiles together;
    const fs::path written = write_results(summary.result_file, results, options.threads, progress, together);
    write_unit_table(fs::path(summary.result_file).replace_filename("units.csv"), data.survey, units, together);
    const io::FileDefinition definition = result_definition(data.survey);
    write_styles(summary.result_file.parent_path(), layer_styles(data.survey, definition), together);
    const fs::path report = fs::path(summary.result_file).replace_filename("report.html");
    if (report_wanted) {
        progress.stage("writing the report", 0);
        write_report(report, results, options.threads, together);
        summary.report_file = report;
    } else {
        std::error_code none;
        summary.too_many_for_report = !options.report && !few_enough;
        summary.older_report = fs::exists(report, none);
    }

    if (options.grid_m) {
        progress.stage("finding how sure each place is", 0);
        summary.grid_file = fs::path(summary.result_file).replace_filename("confidence.tif");
        write_confidence(summary.grid_file, judged, {.cell_m = *options.grid_m, .threads = options.threads}, together);
    }
    for (const OutputFormat format : options.formats) {
        progress.stage("writing other formats", 0);
        const std::vector<CutTexts> cut =
            write_other_format(written, summary.result_file.parent_path(), format, definition, together);
        summary.cut_texts.insert(summary.cut_texts.end(), cut.begin(), cut.end());
        summary.other_formats.push_back(summary.result_file.parent_path() / folder_of(format));
    }
    if (!history.own) summary.record_file = write_record(history_of, *record, together);
    together.put_in_place();
    remove_old_records(history_of, options.superseded_record);
    summary.record = record;
    if (options.database) {
        progress.stage("writing to the database", 0);
        write_to_database(summary.result_file, *options.database, definition);
        summary.database = shown_database(*options.database);
    }

    summary.without_draft = without_draft;
    summary.stops_rock_seen = static_cast<std::size_t>(
        std::count_if(data.survey.stops.begin(), data.survey.stops.end(),
                      [](const model::Stop& stop) { return stop.unit_seen != model::no_unit; }));
    if (first) summary.first_map_range = range_words(*prior, *first);
    summary.title = data.survey.title;
    summary.stops = data.survey.stops.size();
    summary.verdicts.assign(infer::verdict_count, 0);
    for (const infer::StopFit& stop : fit.stops) ++summary.verdicts[static_cast<std::size_t>(stop.verdict)];
    summary.conflicts = strongest_conflicts(data.survey, fit, highlights);
    summary.contacts = contacts_in_doubt(data.survey, data.map, fit, relocation, highlights);
    summary.contacts_without_stops = moved_without_stops(fit, relocation);
    summary.decided = decided_so_far(listed);
    summary.proposals = open_proposals(listed, highlights);
    summary.disputed = plainest_disputes(data.survey, results.disputed, highlights);
    for (std::size_t i = 0; i < std::min(highlights, next_stops.size()); ++i) {
        summary.next_stops.push_back({std::to_string(i + 1), in_short(data.survey, data.map, next_stops[i])});
    }
    summary.next_stop_count = next_stops.size();
    for (const infer::UnitSummary& unit : units) {
        const model::LegendUnit& legend = data.survey.units[static_cast<std::size_t>(unit.unit)];
        if (unit.area_m2 > 0) summary.units.push_back(legend.code + (legend.name.empty() ? "" : " " + legend.name));
    }
    if (!without_draft) {
        summary.elsewhere = infer::moved_length(relocation, data.map);
        summary.headline = contacts_in_a_line(summary.elsewhere);
        summary.because = contacts_because(summary.elsewhere, fit, relocation, revised);
        summary.stretches = stretches_elsewhere(data.survey, data.map, relocation, highlights);
        summary.next_stops_worth = worth_of_visits(next_stops, mapped_ground_m2(units));
    }
    if (!fit.shift.field.still())
        summary.shift = {fit.shift.amplitude_m, fit.shift.reach_m, fit.shift.gain, fit.shift.gain_error};
    summary.shift_decided_by = fit.shift.decided_by;
    summary.skill = fit.skill;
    summary.calibrated = fit.calibrated;
    summary.operations = data.survey.operations;
    summary.problem_errors = problems.count(Severity::error);
    summary.problem_warnings = problems.count(Severity::warning);
    summary.problem_notes = problems.count(Severity::note);
    const auto& sorted = results.problems;
    summary.first_problems.assign(
        sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(std::min(problems_shown, sorted.size())));
    if (options.keep_problems) summary.problems = sorted;
    return summary;
}

RunChanges changes_between(const RunSummary& before, const RunSummary& now) {
    return changes_since(*before.record, *now.record);
}

CheckSummary check_survey(const std::filesystem::path& survey_file, const RunOptions& options, Progress& progress) {
    const io::SurveyFile file = io::read_survey_file(survey_file);
    CheckSummary summary;
    summary.title = file.title;
    std::vector<io::EmptySource> empty = io::find_empty_sources(file);
    if (std::any_of(empty.begin(), empty.end(), [](const io::EmptySource& source) { return source.needed; })) {
        summary.to_fill_in = std::move(empty);
        return summary;
    }
    ProblemLog problems;
    const PreparedSurvey data = prepare_survey(file, options.threads, problems, progress);
    match_photos(file, data.survey, problems);
    summary.stops = data.survey.stops.size();
    summary.horizons = data.survey.horizons.size();
    summary.polygons = data.polygons;
    summary.operations = data.survey.operations;
    summary.problems = model::with_stops_named(data.survey, problems.sorted());
    return summary;
}

}  // namespace subcrop::publish
