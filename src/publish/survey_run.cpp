#include "subcrop/publish/survey_run.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <memory>
#include <optional>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "publish/database.hpp"
#include "publish/first_map_words.hpp"
#include "publish/highlights.hpp"
#include "publish/other_formats.hpp"
#include "publish/reckoned.hpp"
#include "publish/results_folder.hpp"
#include "publish/run_metadata.hpp"
#include "publish/stop_photos.hpp"
#include "publish/styles.hpp"
#include "publish/unit_table.hpp"
#include "publish/where_contacts_run.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/infer/traverse.hpp"
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

namespace fs = std::filesystem;

/// Before anything is read: a run may take long.
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
    io::refuse_to_replace(io::files_of(file), written);
}

/// What `trial` wrote there; empty where nothing.
std::string earlier_trial(const fs::path& path) {
    std::error_code none;
    if (!fs::is_regular_file(path, none)) return {};  // a pipe might never end
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

void tell_of_refused_beds(const std::string& source, ProblemLog& problems) {
    problems.add({.severity = Severity::warning,
                  .source = source,
                  .row = std::nullopt,
                  .field = {},
                  .value = {},
                  .message = "stops held out are better explained where contacts do not follow beds of these attitudes; "
                             "the attitudes are left aside",
                  .remedy = "Look for a strike read the wrong way round, a fold or a fault between them.",
                  .position = std::nullopt});
}

/// A first map drawn from stops that tell little of one another.
void tell_of_range(const model::Survey& survey, const infer::RockPrior& prior, const infer::FirstMap& first, ProblemLog& problems) {
    const std::string words = range_words(prior, first);
    if (words.empty()) return;
    problems.add({.severity = first.shows_range ? Severity::note : Severity::warning,
                  .source = survey.stop_source,
                  .row = std::nullopt,
                  .field = survey.stop_columns.of("unit_seen"),
                  .value = {},
                  .message = words.substr(0, words.size() - 1),
                  .remedy = "See rock at more stops, some of them near one another.",
                  .position = std::nullopt});
}

double mapped_ground_m2(const std::vector<infer::UnitSummary>& units) {
    double sum = 0;
    for (const infer::UnitSummary& unit : units) sum += unit.area_m2;
    return sum;
}

}  // namespace

std::string_view version() { return SUBCROP_VERSION; }

std::unique_ptr<Reckoned> reckon(const io::SurveyFile& file, const ReckonOptions& options, ProblemLog& problems, Progress& progress) {
    std::unique_ptr<Reckoned> reckoned(new Reckoned{.data = prepare_survey(file, options.threads, problems, progress)});
    PreparedSurvey& data = reckoned->data;
    if (!file.map) data.survey.settings.follow_traverses = false;  // the first map would testify for itself
    const model::Settings& settings = data.survey.settings;
    infer::FitOptions fit_options;
    fit_options.traces = data.traces;
    fit_options.move_contacts = settings.moves_contacts(data.survey.stops.size());
    fit_options.find_patches = settings.finds_patches(data.survey.stops.size());
    const bool without_draft = !file.map;
    std::optional<infer::RockPrior>& prior = reckoned->prior;
    if (without_draft) {
        progress.stage("spreading the rock seen over the ground", 0);
        prior = infer::krige_rock(data.survey, options.threads);
        fit_options.prior = prior->at_stops;
    }
    infer::Fit& fit = reckoned->fit =
        infer::fit_stops(data.survey, data.reduced, data.map, options.threads, problems, progress, fit_options);
    infer::Relocation& relocation = reckoned->relocation;
    std::optional<infer::FirstMap>& first = reckoned->first;
    if (without_draft) {
        progress.stage("drawing a first map", 0);
        first = infer::draw_first_map(data.survey, fit, *prior, options.threads);
        tell_of_range(data.survey, *prior, *first, problems);
        geo::UnitMapOptions map_options;
        map_options.contact_sd_m = data.survey.contact_sd_m;
        map_options.threads = options.threads;
        ProblemLog unheard;
        data.map = geo::UnitMap(first->polygons, data.survey.units.size(), map_options, unheard);
        relocation = infer::place_contacts(data.survey, *first, data.map, options.threads);
        fit.contacts.assign(data.map.contacts().size(), {});
    } else {
        if (fit.shift.beds_refused) tell_of_refused_beds(data.survey.attitude_source, problems);
        progress.stage("moving contacts", 0);
        relocation = infer::relocate(data.survey, data.map, fit, options.threads, problems);
    }
    std::vector<infer::TraverseCrossing>& crossings = reckoned->crossings;
    if (settings.follows_traverses(data.survey.stops.size())) {
        progress.stage("following the traverses", 0);
        crossings = infer::cross_traverses(data.survey, data.map, fit, options.threads);
    }
    progress.stage("describing the units", 0);
    reckoned->units = infer::summarise_units(data.survey, data.reduced, data.map, fit, relocation);
    progress.stage("choosing the next stops", 0);
    const infer::NextStopOptions wanted{.count = settings.suggested_stops(data.survey.stops.size()), .position_sd_m = settings.default_position_sd_m};
    reckoned->next_stops = first ? infer::suggest_first_map_stops(data.survey, data.map, *first, wanted, options.threads)
                                 : infer::suggest_next_stops(data.survey, data.map, fit, relocation, wanted, options.threads);
    reckoned->disputed = infer::disputed_ground(data.survey, data.map, fit, relocation);
    return reckoned;
}

RunSummary run_survey(const std::filesystem::path& survey_file, const RunOptions& options, Progress& progress) {
    const io::SurveyFile file = io::read_survey_file(survey_file);
    RunSummary summary;
    summary.result_file = results_folder(file, options.results) / "results.gpkg";
    refuse_to_overwrite_input(file, summary.result_file, options);
    if (options.database) check_database(*options.database);  // better now than at the end

    ProblemLog problems;
    const std::unique_ptr<Reckoned> reckoned = reckon(file, {.threads = options.threads}, problems, progress);
    const auto& [data, prior, fit, relocation, first, crossings, units, next_stops, disputed] = *reckoned;
    const bool without_draft = !file.map;
    progress.stage("drawing the revised map", 0);
    const infer::RevisedMap revised = first ? infer::revised_map_of(*first)
                                            : infer::revise_map(data.survey, data.map, fit, relocation, options.threads);
    const std::vector<StopPhoto> photos = match_photos(file, data.survey, problems);
    const bool few_enough = data.survey.stops.size() <= most_report_stops, report_wanted = options.report.value_or(few_enough);
    const Results results{
        data.survey,
        data.reduced,
        data.map,
        fit,
        relocation,
        revised,
        crossings,
        units,
        next_stops,
        model::with_stops_named(data.survey, problems.sorted()),
        run_metadata(file, data.survey, data.polygons, fit, prior ? &*prior : nullptr, first ? &*first : nullptr),
        disputed,
        report_wanted ? pictures_of(photos) : std::vector<StopPicture>(),
        earlier_trial(fs::path(summary.result_file).replace_filename("trial.json"))};
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

    for (const OutputFormat format : options.formats) {
        progress.stage("writing other formats", 0);
        const std::vector<CutTexts> cut =
            write_other_format(written, summary.result_file.parent_path(), format, definition, together);
        summary.cut_texts.insert(summary.cut_texts.end(), cut.begin(), cut.end());
        summary.other_formats.push_back(summary.result_file.parent_path() / folder_of(format));
    }
    together.put_in_place();
    if (options.database) {
        progress.stage("writing to the database", 0);
        write_to_database(summary.result_file, *options.database, definition);
        summary.database = shown_database(*options.database);
    }

    summary.without_draft = without_draft;
    if (prior) summary.stops_rock_seen = prior->stops_rock_seen;
    if (first) summary.first_map_range = range_words(*prior, *first);
    summary.title = data.survey.title;
    summary.stops = data.survey.stops.size();
    summary.verdicts.assign(infer::verdict_count, 0);
    for (const infer::StopFit& stop : fit.stops) ++summary.verdicts[static_cast<std::size_t>(stop.verdict)];
    summary.conflicts = strongest_conflicts(data.survey, fit, highlights);
    summary.contacts = contacts_in_doubt(data.survey, data.map, fit, relocation, highlights);
    summary.contacts_without_stops = moved_without_stops(fit, relocation);
    summary.disputed = plainest_disputes(data.survey, results.disputed, highlights);
    for (std::size_t i = 0; i < std::min(highlights, next_stops.size()); ++i) {
        summary.next_stops.push_back({std::to_string(i + 1), in_short(data.survey, data.map, next_stops[i])});
    }
    summary.next_stop_count = next_stops.size();
    if (!without_draft) {
        summary.elsewhere = infer::moved_length(relocation, data.map);
        summary.headline = contacts_in_a_line(summary.elsewhere);
        summary.because = contacts_because(summary.elsewhere, fit, relocation);
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
    summary.first_problems.assign(sorted.begin(),
                                  sorted.begin() + static_cast<std::ptrdiff_t>(std::min(problems_shown, sorted.size())));
    return summary;
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
