#include "subcrop/publish/survey_trial.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>

#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "publish/results_folder.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/publish/prepared_survey.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

namespace {

using Json = nlohmann::ordered_json;

Json figures_json(const infer::TrialFigures& f) {
    return {{"warp_m", f.warp_m},
            {"drafts", f.drafts},
            {"wrong_stops", f.wrong_stops},
            {"found", f.found},
            {"found_by_distance", f.found_by_distance},
            {"conflicts", f.conflicts},
            {"false_conflicts", f.false_conflicts},
            {"ground_wrong_before", f.ground_wrong_before},
            {"ground_wrong_after", f.ground_wrong_after},
            {"spoilt", f.spoilt},
            {"zones_cover", f.zones_cover},
            {"half_width_m", f.half_width_m},
            {"drafts_moved", f.drafts_moved}};
}

}  // namespace

std::string trial_json(const TrialSummary& s) {
    Json warped = Json::array();
    for (const infer::TrialFigures& f : s.trial.warped) warped.push_back(figures_json(f));
    const Json json{{"program", "subcrop"},
                    {"version", version()},
                    {"title", s.title},
                    {"stops", s.trial.stops},
                    {"stops_rock_seen", s.trial.stops_rock_seen},
                    {"seeds", s.seeds},
                    {"contact_sd_m", s.contact_sd_m},
                    {"false_discovery_rate", s.false_discovery_rate},
                    {"reach_m", s.trial.reach_m},
                    {"patches", s.patches},
                    {"patch_radius_m", s.trial.patch_radius_m},
                    {"unwarped", figures_json(s.trial.unwarped)},
                    {"warped", std::move(warped)}};
    return json.dump(2, ' ', false, Json::error_handler_t::replace);
}

TrialSummary try_survey(const std::filesystem::path& survey_file, const TrialRunOptions& options, Progress& progress) {
    const io::SurveyFile file = io::read_survey_file(survey_file);
    if (!file.map)
        throw Error({file.path.string(), {}, {}, "map"}, "there is no draft map to make wrong on purpose",
                    "Name one under 'map'.");
    TrialSummary summary;
    summary.file = results_folder(file, options.results) / "trial.json";
    io::refuse_to_replace(io::files_of(file), io::files_written_for(summary.file));
    ProblemLog problems;
    const PreparedSurvey data = prepare_survey(file, options.threads, problems, progress);
    const auto& stops = data.survey.stops;
    if (std::none_of(stops.begin(), stops.end(),
                     [&](const model::Stop& s) { return data.map.unit_at(s.position) != model::no_unit; })) {
        throw Error({data.survey.map_source, {}, {}, {}}, "no stop lies on the draft map, so there is nothing to test",
                    "See what 'subcrop check' says of the coordinates.");
    }
    infer::TrialOptions trial_options;
    trial_options.seeds = options.seeds;
    summary.title = data.survey.title;
    summary.contact_sd_m = data.survey.contact_sd_m;
    summary.false_discovery_rate = data.survey.settings.false_discovery_rate;
    summary.patches = trial_options.patches;
    summary.seeds = options.seeds;
    summary.trial = infer::try_draft(data.survey, data.reduced, data.map, trial_options, options.threads, progress);
    io::write_whole(summary.file, [&](std::ostream& out) { out << trial_json(summary) << '\n'; });
    return summary;
}

}  // namespace subcrop::publish
