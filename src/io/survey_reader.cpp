#include "subcrop/io/survey_reader.hpp"

#include <algorithm>
#include <cmath>
#include <exception>
#include <future>
#include <optional>
#include <unordered_map>
#include <utility>

#include "io/field_book.hpp"
#include "io/legend_reader.hpp"
#include "io/locate.hpp"
#include "io/map_reader.hpp"
#include "io/nearest_name.hpp"
#include "io/rock_tables.hpp"
#include "io/source_name.hpp"
#include "io/text_values.hpp"
#include "io/user_tables.hpp"
#include "io/ways_reader.hpp"
#include "io/working_crs.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {

namespace {

/// Stops and map are read in parallel. If both fail, the stops' error is reported, whichever came first.
std::pair<StopTable, std::optional<MapTable>> read_sources(const SurveyFile& file, unsigned threads, TextPool& texts,
                                                           ProblemLog& problems) {
    auto stops = std::async(thread_count(threads) > 1 ? std::launch::async : std::launch::deferred,
                            [&] { return read_stops(file, texts, problems); });
    std::optional<MapTable> map;
    std::exception_ptr map_failure;
    if (file.map) {
        try {
            map = read_map(file, problems);
        } catch (...) {
            map_failure = std::current_exception();
        }
    }
    StopTable table = stops.get();
    if (map_failure) std::rethrow_exception(map_failure);
    return {std::move(table), std::move(map)};
}

/// Unit codes as written on stops become indices; unknown ones become problems.
void settle_units_seen(StopTable& stops, const BoreholeTable& holes, const std::vector<model::LegendUnit>& units,
                       ProblemLog& problems) {
    const std::size_t first_hole = stops.stops.size() - holes.holes.size();
    std::unordered_map<std::string, model::UnitIndex> index, capitals;
    std::vector<std::string> codes;
    std::size_t empty_words = 0, first_empty = 0, other_capitals = 0, first_capitals = 0;
    const auto told_once = [&](std::size_t first, std::string message, std::string remedy) {
        problems.add({.severity = Severity::note,
                      .source = first < first_hole ? stops.source : holes.source,
                      .row = stops.stops[first].row,
                      .field = first < first_hole ? stops.unit_seen_column : holes.names.of("unit_seen"),
                      .value = stops.unit_seen[first].str(),
                      .message = std::move(message),
                      .remedy = std::move(remedy),
                      .position = stops.stops[first].position});
    };
    for (std::size_t i = 0; i < units.size(); ++i) {
        index.emplace(units[i].code, static_cast<model::UnitIndex>(i));
        const auto [same, fresh] = capitals.emplace(lower(units[i].code), static_cast<model::UnitIndex>(i));
        if (!fresh) same->second = model::no_unit;  // two codes that differ by their capitals alone
        codes.push_back(units[i].code);
    }
    for (std::size_t i = 0; i < stops.stops.size(); ++i) {
        if (stops.unit_seen[i].empty()) continue;
        const std::string& code = stops.unit_seen[i].str();
        if (const auto found = index.find(code); found != index.end()) {
            stops.stops[i].unit_seen = found->second;
            continue;
        }
        if (const auto found = capitals.find(lower(code)); found != capitals.end() && found->second != model::no_unit) {
            stops.stops[i].unit_seen = found->second;
            if (other_capitals++ == 0) first_capitals = i;
            continue;
        }
        if (may_be_no_value(code)) {
            if (empty_words++ == 0) first_empty = i;
            continue;
        }
        problems.add({.severity = Severity::warning,
                      .source = i < first_hole ? stops.source : holes.source,
                      .row = stops.stops[i].row,
                      .field = i < first_hole ? stops.unit_seen_column : holes.names.of("unit_seen"),
                      .value = code,
                      .message = "no map unit has this code; the observed bedrock is left out",
                      .remedy = did_you_mean(code, codes) + "Write a code of the legend or the map.",
                      .position = stops.stops[i].position});
    }
    if (empty_words > 0) {
        told_once(first_empty, empty_words_message(empty_words),
                  "Nothing to do. If it is a unit, add it to the legend.");
    }
    if (other_capitals > 0) {
        const std::string code = units[static_cast<std::size_t>(stops.stops[first_capitals].unit_seen)].code;
        told_once(first_capitals,
                  "taken for the unit '" + code + "'" +
                      (other_capitals == 1 ? std::string()
                                           : ", and " + std::to_string(other_capitals - 1) +
                                                 " more of this column in the same way, whatever their capitals"),
                  "Nothing to do, unless another unit is meant.");
    }
}

void tell_of_no_horizons(const std::string& source, ProblemLog& problems) {
    problems.add({.severity = Severity::warning,
                  .source = source,
                  .row = std::nullopt,
                  .field = {},
                  .value = {},
                  .message = "there are no horizons in it, so no stop has a soil profile",
                  .remedy = "Check that it is the right file and layer.",
                  .position = std::nullopt});
}

std::vector<std::string> codes_seen(const StopTable& stops) {
    std::vector<std::string> codes;
    for (const Text code : stops.unit_seen) {
        if (!code.empty()) codes.push_back(code.str());
    }
    std::sort(codes.begin(), codes.end());
    codes.erase(std::unique(codes.begin(), codes.end()), codes.end());
    return codes;
}

/// Map polygons point into `codes`; after this into `units`.
void settle_map_units(MapTable& map, const std::vector<model::LegendUnit>& units) {
    std::unordered_map<std::string, model::UnitIndex> index;
    for (std::size_t i = 0; i < units.size(); ++i) index.emplace(units[i].code, static_cast<model::UnitIndex>(i));
    std::vector<model::UnitIndex> to;
    for (const std::string& code : map.codes) to.push_back(index.at(code));
    for (model::MapPolygon& polygon : map.polygons) polygon.unit = to[static_cast<std::size_t>(polygon.unit)];
}

/// One note for all units of the legend, the first so many of `units`, that the map does not show.
void tell_of_units_without_polygon(const SurveyFile& file, const std::vector<model::LegendUnit>& units,
                                   std::size_t of_legend, const std::vector<model::MapPolygon>& map,
                                   ProblemLog& problems) {
    std::vector<std::uint8_t> drawn(units.size(), 0);
    for (const model::MapPolygon& polygon : map) drawn[static_cast<std::size_t>(polygon.unit)] = 1;
    std::vector<std::string> missing;
    for (std::size_t u = 0; u < of_legend; ++u) {
        if (drawn[u] == 0) missing.push_back('\'' + units[u].code + '\'');
    }
    if (missing.empty()) return;
    constexpr std::size_t max_named = 5;
    const bool one = missing.size() == 1;
    problems.add(
        {.severity = Severity::note,
         .source = shown_source(file.legend->source) + (file.legend->layer.empty() ? "" : ":" + file.legend->layer),
         .row = std::nullopt,
         .field = {},
         .value = {},
         .message = std::to_string(missing.size()) + " of " + std::to_string(of_legend) + " units of the legend " +
                    (one ? "has" : "have") + " no polygon on the map: " + listed(missing, max_named),
         .remedy = one ? "Draw it, take it out of the legend, or leave it if it may be met unmapped."
                       : "Draw them, take them out of the legend, or leave those that may be met unmapped.",
         .position = std::nullopt});
}

/// An error of contacts as wide as the map leaves nothing of the draft.
void doubt_contact_error(const SurveyFile& file, const std::vector<model::MapPolygon>& map, double stated,
                         ProblemLog& problems) {
    constexpr double share_of_map = 0.1, min_m = 200;
    Box box;
    for (const model::MapPolygon& polygon : map) {
        for (const Point p : polygon.polygon.shell) box.add(p);
    }
    const double widest = std::max(box.width(), box.height());
    if (stated < min_m || stated < share_of_map * widest) return;
    problems.add({.severity = Severity::warning,
                  .source = file.path.filename().string(),
                  .row = std::nullopt,
                  .field = "map.contact_sd_m",
                  .value = number_text(stated),
                  .message = "contacts are stated to be known to " + number_text(stated) + " m only, on a map " +
                             number_text(std::round(widest)) + " m wide, so the draft says almost nothing",
                  .remedy = "If it was written in centimetres, write metres: " + number_text(stated / 100) + ".",
                  .position = std::nullopt});
}

}  // namespace

model::Survey read_survey(const SurveyFile& file, unsigned threads, ProblemLog& problems, Progress& progress) {
    geo::require_proj_data();
    model::Survey survey;
    survey.title = file.title;
    survey.settings = file.settings;
    survey.texts = std::make_shared<TextPool>();

    progress.stage("reading stops and map", 0);
    auto [stops, map] = read_sources(file, threads, *survey.texts, problems);
    if (file.plants) survey.plant_names = read_plant_names(file, problems);
    if (file.names) survey.kind_names = read_kind_names(file, problems);
    if (file.legend) survey.units = read_legend(file, survey.kind_names, problems);
    if (file.parent_material_weights) survey.parent_material = read_parent_material_weights(file, problems);

    progress.stage("locating stops and map", 0);
    const geo::Crs working = working_crs(file, map ? &*map : nullptr, stops, problems);
    survey.crs_wkt = working.wkt();
    survey.crs_name = working.name();
    BoreholeTable holes;
    survey.operations.push_back(locate_stops(file, working, stops, map ? &*map : nullptr, threads, problems));
    if (map) survey.operations.push_back(locate_map(file, working, *map, threads, problems));
    const double map_accuracy_m = map ? survey.operations.back().accuracy_m.value_or(0) : 0;
    if (file.boreholes) {
        holes = read_boreholes(file, working, *survey.texts, problems);
        if (!holes.stops.empty()) survey.operations.push_back(holes.operation);
        append_boreholes(stops, holes, problems);
    }
    if (file.attitudes) {
        AttitudeTable attitudes = read_attitudes(file, working, problems);
        if (!attitudes.attitudes.empty()) survey.operations.push_back(attitudes.operation);
        survey.attitudes = std::move(attitudes.attitudes);
        survey.attitude_source = std::move(attitudes.source);
    }
    if (map) {
        const double stated = file.map->contact_sd_m.value_or(survey.contact_sd_m);
        survey.contact_sd_m = std::hypot(stated, map_accuracy_m);
        const std::size_t of_legend = survey.units.size();
        complete_legend(survey.units, map->codes, !survey.units.empty(), map->source, map->unit_column, problems);
        settle_map_units(*map, survey.units);
        survey.map_source = map->source;
        survey.map = std::move(map->polygons);
        if (file.legend) tell_of_units_without_polygon(file, survey.units, of_legend, survey.map, problems);
        doubt_contact_error(file, survey.map, stated, problems);
    } else if (survey.units.empty()) {
        complete_legend(survey.units, codes_seen(stops), false, stops.source, stops.unit_seen_column, problems);
    }
    settle_units_seen(stops, holes, survey.units, problems);
    survey.boreholes = std::move(holes.holes);
    survey.borehole_source = std::move(holes.source);
    survey.borehole_columns = std::move(holes.names);

    read_ways(file, working, survey, problems);
    survey.stop_source = stops.source;
    survey.horizon_source = stops.source;
    const std::size_t every = stops.stops.size(), first_hole = every - survey.boreholes.size();
    if (file.horizons) {
        progress.stage("reading horizons", 0);
        // Logs are among the horizons of stops, unless they have a table of their own.
        HorizonTableRead read = read_horizons(
            file, {*file.horizons, "horizons", "stop", "stop", 0, file.borehole_logs ? first_hole : every},
            *survey.texts, stops, problems);
        if (!read.any_row) tell_of_no_horizons(read.source, problems);
        survey.horizon_source = std::move(read.source);
        stops.horizon_names = std::move(read.names);
    }
    if (file.borehole_logs) {
        HorizonTableRead read =
            read_horizons(file, {*file.borehole_logs, "borehole_logs", "hole", "borehole", first_hole, every},
                          *survey.texts, stops, problems);
        survey.borehole_log_source = std::move(read.source);
        survey.borehole_log_columns = std::move(read.names);
    }
    survey.stop_columns = std::move(stops.stop_names);
    survey.horizon_columns = std::move(stops.horizon_names);
    survey.stops = std::move(stops.stops);
    survey.horizons = std::move(stops.horizons);
    survey.evidence = std::move(stops.evidence);
    survey.carried = std::move(stops.carried);
    return survey;
}

}  // namespace subcrop::io
