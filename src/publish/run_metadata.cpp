#include "publish/run_metadata.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

#include "io/source_name.hpp"
#include "publish/first_map_words.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

namespace {

using Json = nlohmann::ordered_json;

Json optional_number(const std::optional<double>& value) { return value ? Json(*value) : Json(nullptr); }

Json input_json(const io::SourceDescription& source, const char* what, std::size_t count) {
    Json json{{"source", io::shown_source(source.source)}};  // without a password
    if (!source.layer.empty()) json["layer"] = source.layer;
    json[what] = count;
    return json;
}

std::string_view name_of(model::EvidenceRows rows) {
    switch (rows) {
        case model::EvidenceRows::automatic:
            return "automatic";
        case model::EvidenceRows::top:
            return "top";
        case model::EvidenceRows::all:
            return "all";
        case model::EvidenceRows::none:
            return "none";
    }
    return "automatic";
}

Json or_automatic(std::optional<bool> asked) { return asked ? Json(*asked) : Json("automatic"); }

Json settings_json(const model::Settings& settings, double contact_sd_m) {
    return {{"default_position_sd_m", settings.default_position_sd_m},
            {"contact_sd_m", contact_sd_m},
            {"false_discovery_rate", settings.false_discovery_rate},
            {"draft_error_share", settings.draft_error_share},
            {"seen_rock_certainty", settings.seen_rock_certainty},
            {"block_m", settings.block_m},
            {"evidence", name_of(settings.evidence)},
            {"allow_ballpark", settings.allow_ballpark},
            {"seed", settings.seed},
            {"creep",
             {{"length_m", settings.creep.length_m ? Json(*settings.creep.length_m) : Json("automatic")},
              {"steepest", settings.creep.steepest},
              {"thickness_cm", settings.creep.thickness_cm},
              {"curvature_m", settings.creep.curvature_m}}},
            {"move_contacts", or_automatic(settings.move_contacts)},
            {"follow_traverses", or_automatic(settings.follow_traverses)},
            {"next_stops", settings.next_stops ? Json(*settings.next_stops) : Json("automatic")}};
}

Json creep_json(const infer::CreepChoice& creep) {
    Json trials = Json::array();
    for (const infer::CreepTrial& trial : creep.trials)
        trials.push_back({{"length_m", trial.length_m}, {"gain", trial.gain}});
    return {{"length_m", creep.length_m}, {"stated", creep.stated}, {"asked", trials}};
}

/// The variogram of a first map; without a range if near stops are no more alike than far ones.
Json first_map_json(const infer::RockPrior& prior, const infer::FirstMap& first) {
    return {{"learnt_from", prior.shows_range || !first.shows_range ? "observed bedrock" : "soil"},
            {"nugget", first.model.nugget},
            {"sill", first.model.sill},
            {"range_m", first.shows_range ? Json(first.model.range_m) : Json(nullptr)},
            {"caution", range_words(prior, first)}};
}

/// Single stretches that move, if the draft as a whole does not.
Json stretches_json(const model::Survey& survey, const infer::Fit& fit) {
    Json list = Json::array();
    for (const infer::MisplacedStretch& stretch : fit.shift.stretches) {
        Json stops = Json::array();
        for (const std::uint32_t s : stretch.stops) stops.push_back(survey.stops[s].id);
        list.push_back({{"contact", stretch.contact + 1},
                        {"shift_m", std::abs(stretch.shift_m)},
                        {"shift_sd_m", stretch.shift_sd_m},
                        {"log10_odds", stretch.log_odds / std::log(10.0)},
                        {"stops", std::move(stops)}});
    }
    return list;
}

}  // namespace

std::string run_metadata(const io::SurveyFile& file, const model::Survey& survey, std::size_t polygons,
                         const infer::Fit& fit, const infer::RockPrior* prior, const infer::FirstMap* first,
                         infer::DescribedBy described_by) {
    Json inputs;
    inputs["stops"] = input_json(file.stops, "rows_used", survey.stops.size());
    std::size_t log_rows = 0;
    for (std::size_t s = survey.stops.size() - survey.boreholes.size(); file.borehole_logs && s < survey.stops.size();
         ++s)
        log_rows += survey.stops[s].horizon_count;
    if (file.horizons) inputs["horizons"] = input_json(*file.horizons, "rows_used", survey.horizons.size() - log_rows);
    if (file.map) inputs["map"] = input_json(*file.map, "polygons_used", polygons);
    if (file.legend) inputs["legend"] = input_json(*file.legend, "units", survey.units.size());

    if (file.boreholes) inputs["boreholes"] = input_json(*file.boreholes, "rows_used", survey.boreholes.size());
    if (file.borehole_logs) inputs["borehole logs"] = input_json(*file.borehole_logs, "rows_used", log_rows);
    if (file.attitudes) inputs["attitudes"] = input_json(*file.attitudes, "rows_used", survey.attitudes.size());
    if (file.terrain) {
        inputs["terrain"] = input_json(*file.terrain, "stops_on_it",
                                       static_cast<std::size_t>(std::count_if(
                                           survey.terrain.begin(), survey.terrain.end(),
                                           [](const model::StopTerrain& t) { return t.height_m.has_value(); })));
    }

    Json operations = Json::array();
    for (const model::CoordinateOperation& operation : survey.operations) {
        operations.push_back({{"source", operation.source},
                              {"from", operation.from},
                              {"to", operation.to},
                              {"operation", operation.name},
                              {"accuracy_m", optional_number(operation.accuracy_m)},
                              {"ballpark", operation.ballpark}});
    }
    Json channels = Json::array();
    for (const infer::ChannelSummary& channel : fit.channels) {
        channels.push_back({{"channel", channel.name},
                            {"stops", channel.stops},
                            {"weight", channel.weight},
                            {"bandwidth", channel.bandwidth},
                            {"held_out_log_loss", channel.held_out_log_loss},
                            {"uniform_log_loss", channel.uniform_log_loss}});
    }
    const Json json{
        {"program", "subcrop"},
        {"version", version()},
        {"survey", file.path.filename().string()},
        {"title", survey.title},
        {"inputs", inputs},
        {"settings", settings_json(survey.settings, survey.contact_sd_m)},
        {"without_draft", !file.map},
        {"first_map", prior != nullptr && first != nullptr ? first_map_json(*prior, *first) : Json(nullptr)},
        {"crs", survey.crs_name},
        {"coordinate_operations", operations},
        {"held_out_block_m", fit.block_m},
        {"channels", channels},
        {"contact_shift",
         {{"decided_by", fit.shift.decided_by},
          {"amplitude_m", fit.shift.amplitude_m},
          {"reach_m", fit.shift.reach_m},
          {"moved", !fit.shift.field.still()},
          {"search_settled", fit.shift.field.settled()},
          {"gain", fit.shift.gain},
          {"gain_error", fit.shift.gain_error},
          {"stretches", stretches_json(survey, fit)},
          {"beds_followed", fit.shift.beds_followed},
          {"beds_refused", fit.shift.beds_refused},
          {"beds_gain", fit.shift.trace_gain}}},
        {"contact_sd_learnt_m", fit.answer.empty() ? Json(nullptr) : Json(fit.answer.contact_sd_m())},
        {"contact_sd_of_zones_m", fit.contact_sd_m},
        {"creep", creep_json(fit.creep)},
        {"skill",
         {{"known_by", fit.skill.known_by},
          {"stops", fit.skill.stops},
          {"log_loss", fit.skill.log_loss},
          {"share_log_loss", fit.skill.share_log_loss},
          {"accuracy", fit.skill.accuracy},
          {"share_accuracy", fit.skill.share_accuracy}}},
        {"units_described_by", described_by == infer::DescribedBy::draft ? "draft" : "posterior"},
        {"calibrated", fit.calibrated}};
    return json.dump(1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace subcrop::publish
