#include "publish/judged_survey.hpp"

#include <string>
#include <utility>

#include "publish/first_map_words.hpp"

namespace subcrop::publish {

namespace {

/// Above this number of contacts nobody decides on them one by one.
constexpr std::size_t max_contacts_proposed = 20'000;

void tell_of_refused_beds(const std::string& source, ProblemLog& problems) {
    problems.add({.severity = Severity::warning,
                  .source = source,
                  .row = std::nullopt,
                  .field = {},
                  .value = {},
                  .message = "hidden stops are predicted better if contacts do not follow beds of these attitudes; the "
                             "attitudes are not used",
                  .remedy = "Look for a strike read the wrong way round, a fold or a fault between them.",
                  .position = std::nullopt});
}

/// A first map drawn from stops that are little evidence on one another.
void tell_of_range(const model::Survey& survey, const infer::RockPrior& prior, const infer::FirstMap& first,
                   ProblemLog& problems) {
    const std::string words = range_words(prior, first);
    if (words.empty()) return;
    problems.add({.severity = first.shows_range ? Severity::note : Severity::warning,
                  .source = survey.stop_source,
                  .row = std::nullopt,
                  .field = survey.stop_columns.of("unit_seen"),
                  .value = {},
                  .message = words.substr(0, words.size() - 1),
                  .remedy = "Observe bedrock at more stops, some of them near one another.",
                  .position = std::nullopt});
}

}  // namespace

JudgedSurvey judge_survey(const io::SurveyFile& file, const JudgeOptions& options, ProblemLog& problems,
                          Progress& progress) {
    JudgedSurvey judged;
    judged.data = std::make_unique<PreparedSurvey>(prepare_survey(file, options.threads, problems, progress));
    PreparedSurvey& data = *judged.data;
    if (!file.map) data.survey.settings.follow_traverses = false;  // the first map would be evidence for itself
    const model::Settings& settings = data.survey.settings;
    infer::FitOptions fit_options;
    fit_options.traces = data.traces;
    fit_options.move_contacts = settings.moves_contacts(data.survey.stops.size());
    fit_options.find_patches = settings.finds_patches(data.survey.stops.size());
    if (!file.map) {
        progress.stage("interpolating the observed bedrock", 0);
        judged.prior = infer::krige_rock(data.survey, options.threads);
        fit_options.prior = judged.prior->at_stops;
    }
    judged.fit =
        infer::fit_stops(data.survey, data.reduced, data.map, options.threads, problems, progress, fit_options);
    if (!file.map) {
        progress.stage("drawing a first map", 0);
        judged.first = infer::draw_first_map(data.survey, judged.fit, *judged.prior, options.threads);
        tell_of_range(data.survey, *judged.prior, *judged.first, problems);
        geo::UnitMapOptions map_options;
        map_options.contact_sd_m = data.survey.contact_sd_m;
        map_options.threads = options.threads;
        ProblemLog unheard;
        data.map = geo::UnitMap(judged.first->polygons, data.survey.units.size(), map_options, unheard);
        judged.relocation = infer::place_contacts(data.survey, *judged.first, data.map, options.threads);
        judged.fit.contacts.assign(data.map.contacts().size(), {});
    } else {
        if (judged.fit.shift.beds_refused) tell_of_refused_beds(data.survey.attitude_source, problems);
        progress.stage("moving contacts", 0);
        judged.relocation = infer::relocate(data.survey, data.map, judged.fit, options.threads, problems);
    }
    progress.stage("drawing the revised map", 0);
    judged.revised = judged.first
                         ? infer::revised_map_of(*judged.first)
                         : infer::revise_map(data.survey, data.map, judged.fit, judged.relocation, options.threads);
    if (options.propose && !judged.first && data.map.contacts().size() <= max_contacts_proposed) {
        progress.stage("listing proposals", 0);
        judged.proposals =
            infer::propose(data.survey, data.map, judged.fit, judged.relocation, judged.revised, options.threads);
    }
    if (options.follow_traverses && settings.follows_traverses(data.survey.stops.size())) {
        progress.stage("following the traverses", 0);
        judged.traverses = infer::follow_traverses(data.survey, data.map, judged.fit, options.threads);
        judged.crossings = infer::crossings_of(judged.traverses);
        infer::review_stretches(data.survey, data.map, judged.fit, judged.crossings, judged.relocation,
                                options.threads);
    }
    progress.stage("describing the units", 0);
    judged.units = infer::summarise_units(data.survey, data.reduced, data.map, judged.fit, judged.relocation,
                                          {.described_by = options.described_by, .threads = options.threads});
    if (options.choose_next_stops) {
        progress.stage("choosing the next stops", 0);
        const infer::NextStopOptions wanted{.count = settings.suggested_stops(data.survey.stops.size()),
                                            .position_sd_m = settings.default_position_sd_m};
        judged.next_stops =
            judged.first ? infer::suggest_first_map_stops(data.survey, data.map, *judged.first, wanted, options.threads)
                         : infer::suggest_next_stops(data.survey, data.map, judged.fit, judged.relocation, wanted,
                                                     options.threads);
    }
    judged.disputed = infer::disputed_areas(data.survey, data.map, judged.fit, judged.relocation);
    return judged;
}

}  // namespace subcrop::publish
