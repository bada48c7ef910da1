#include "subcrop/publish/prepared_survey.hpp"

#include <future>
#include <optional>
#include <string>
#include <utility>

#include "subcrop/geo/terrain_at_stops.hpp"
#include "subcrop/infer/map_audit.hpp"
#include "subcrop/io/survey_reader.hpp"
#include "subcrop/io/terrain_reader.hpp"
#include "subcrop/model/audit.hpp"

namespace subcrop::publish {

namespace {

void tell_of_terrain(const std::string& source, const model::Survey& survey, ProblemLog& problems) {
    std::size_t unknown = 0, named = 0;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        unknown += !survey.terrain[s].height_m;
        named += survey.stops[s].landform.empty() && !survey.terrain[s].landform.empty();
    }
    const auto stops = [](std::size_t count) { return std::to_string(count) + (count == 1 ? " stop" : " stops"); };
    const auto note = [&](std::string message, std::string remedy) {
        problems.add({.severity = Severity::note, .source = source, .row = std::nullopt, .field = {}, .value = {},
                      .message = std::move(message), .remedy = std::move(remedy), .position = std::nullopt});
    };
    if (unknown > 0) {
        note("the terrain has no height at " + stops(unknown) + ", which " + (unknown == 1 ? "is" : "are") + " judged without it",
             "Give a raster that covers all stops.");
    }
    if (named > 0) {
        note("no landform was written at " + stops(named) + "; where the origin of the soil is weighed the terrain's is taken",
             "Write the landform in the field book where you know better.");
    }
}

/// Reads the ground round the stops, asks it at each of them and lets it go.
void ask_terrain(const io::SurveyFile& file, model::Survey& survey, unsigned threads, ProblemLog& problems,
                        Progress& progress) {
    if (!file.terrain || survey.stops.empty()) return;
    progress.stage("reading the terrain", 0);
    Box wanted;
    std::vector<Point> places;
    for (const model::Stop& stop : survey.stops) {
        places.push_back(stop.position);
        wanted.add(stop.position);
    }
    wanted.add(Point{wanted.min_x - geo::terrain_margin_m, wanted.min_y - geo::terrain_margin_m});
    wanted.add(Point{wanted.max_x + geo::terrain_margin_m, wanted.max_y + geo::terrain_margin_m});
    const io::TerrainRead ground = io::read_terrain(file, *file.terrain, survey.crs_wkt, wanted, threads, problems);
    if (!ground.terrain) return;
    survey.terrain = geo::terrain_at(*ground.terrain, places, threads);
    tell_of_terrain(file.terrain->source, survey, problems);
}

}  // namespace

PreparedSurvey prepare_survey(const io::SurveyFile& file, unsigned threads, ProblemLog& problems, Progress& progress) {
    model::Survey survey = io::read_survey(file, threads, problems, progress);
    ask_terrain(file, survey, threads, problems, progress);
    const std::size_t polygons = survey.map.size();
    std::vector<model::MapPolygon> ground = std::exchange(survey.map, {});

    // Notes and map have nothing to do with one another: they are made ready side by side.
    progress.stage("reading the notes and building the map", 0);
    std::future<model::Reduced> notes = std::async(std::launch::async, [&survey, &problems] {
        model::Reduced reduced = model::reduce(survey, problems);
        model::audit(survey, reduced, 1, problems);
        return reduced;
    });
    geo::UnitMapOptions options;
    options.contact_sd_m = survey.contact_sd_m;
    options.source = survey.map_source;
    options.threads = threads;
    geo::UnitMap map(std::move(ground), survey.units.size(), std::move(options), problems);
    model::Reduced reduced = notes.get();
    if (polygons > 0) infer::audit_rock_seen(survey, map, problems);
    return {std::move(survey), polygons, std::move(map), std::move(reduced)};
}

}  // namespace subcrop::publish
