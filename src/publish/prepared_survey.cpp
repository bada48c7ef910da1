#include "subcrop/publish/prepared_survey.hpp"

#include <algorithm>
#include <cmath>
#include <future>
#include <numbers>
#include <optional>
#include <string>
#include <utility>

#include "subcrop/core/counted.hpp"
#include "subcrop/geo/bed_surface.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/geo/creep.hpp"
#include "subcrop/geo/terrain_at_stops.hpp"
#include "subcrop/infer/map_audit.hpp"
#include "subcrop/io/survey_reader.hpp"
#include "subcrop/io/terrain_reader.hpp"
#include "subcrop/model/audit.hpp"

namespace subcrop::publish {

namespace {

/// Median of the ratios; nothing if there are too few.
std::optional<double> middle_ratio(std::vector<double> ratios, std::size_t fewest) {
    if (ratios.size() < fewest) return std::nullopt;
    const auto middle = ratios.begin() + static_cast<std::ptrdiff_t>(ratios.size() / 2);
    std::nth_element(ratios.begin(), middle, ratios.end());
    return *middle;
}

/// Compares slopes and collars of the field book with the terrain. A factor of three looks like feet taken as metres.
void doubt_unit_of_heights(const std::string& source, const model::Survey& survey, ProblemLog& problems) {
    constexpr double foot = 3.28, degree = std::numbers::pi / 180, min_slope_deg = 3;
    std::vector<double> slopes, heights;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const model::StopTerrain& ground = survey.terrain[s];
        const model::Stop& stop = survey.stops[s];
        if (ground.slope_deg && stop.slope_deg && *stop.slope_deg >= min_slope_deg && *stop.slope_deg < 60) {
            slopes.push_back(std::tan(*ground.slope_deg * degree) / std::tan(*stop.slope_deg * degree));
        }
        const model::Borehole* hole = survey.borehole(s);
        if (hole != nullptr && ground.height_m && hole->collar_height_m.value_or(0) > 1)
            heights.push_back(*ground.height_m / *hole->collar_height_m);
    }
    const auto doubt = [&](double ratio, const std::string& what, const char* as_feet, const char* as_metres) {
        // Within a fifth of the factor between the two units of length.
        const bool in_feet = std::abs(std::log(ratio / foot)) < std::log(1.2),
                   in_metres = std::abs(std::log(ratio * foot)) < std::log(1.2);
        if (!in_feet && !in_metres) return;
        problems.add({.severity = Severity::warning,
                      .source = source,
                      .row = std::nullopt,
                      .field = {},
                      .value = {},
                      .message = what + (in_feet ? as_feet : as_metres),
                      .remedy = "Check the unit of the raster, and state it with 'vertical_unit' in 'terrain'.",
                      .position = std::nullopt});
    };
    if (const auto ratio = middle_ratio(std::move(slopes), 10)) {
        doubt(*ratio, "slopes by the terrain are about ",
              "three times those in the field book: its heights look like feet",
              "a third of those in the field book: its heights look like metres taken for feet");
    }
    if (const auto ratio = middle_ratio(std::move(heights), 3)) {
        doubt(*ratio, "the terrain is about ",
              "three times as high as the boreholes' collars: its heights look like feet",
              "a third as high as the boreholes' collars: its heights look like metres taken for feet, or the collars "
              "like feet");
    }
}

void tell_of_terrain(const std::string& source, const model::Survey& survey, ProblemLog& problems) {
    std::size_t unknown = 0, named = 0;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        unknown += !survey.terrain[s].height_m;
        named += survey.stops[s].landform.empty() && !survey.terrain[s].landform.empty();
    }
    const auto note = [&](std::string message, std::string remedy) {
        problems.add({.severity = Severity::note,
                      .source = source,
                      .row = std::nullopt,
                      .field = {},
                      .value = {},
                      .message = std::move(message),
                      .remedy = std::move(remedy),
                      .position = std::nullopt});
    };
    doubt_unit_of_heights(source, survey, problems);
    if (unknown > 0) {
        note("the terrain has no height at " + counted(unknown, "stop", "stops") + ", which " +
                 (unknown == 1 ? "is" : "are") + " judged without it",
             "Give a raster that covers all stops.");
    }
    if (named > 0) {
        note("no landform was written at " + counted(named, "stop", "stops") +
                 "; the landform of the terrain is used to judge where the soil came from",
             "Write the landform in the field book where you know better.");
    }
}

/// Lengths to try if none is stated.
constexpr double creep_lengths_m[] = {25, 60};

void trace_creep(const geo::Terrain& terrain, const std::vector<Point>& places, model::Survey& survey,
                 unsigned threads) {
    const model::CreepSettings& settings = survey.settings.creep;
    std::vector<std::optional<double>> cover_cm;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) cover_cm.push_back(model::cover_thickness_cm(survey, s));
    for (const double length_m : creep_lengths_m) {
        const double usual_m = settings.length_m.value_or(length_m);
        if (usual_m <= 0) return;
        survey.creep.push_back(
            {usual_m, geo::trace_creep(terrain, places, survey.terrain, cover_cm, settings, usual_m, threads)});
        if (settings.length_m) return;
    }
}

/// Reads the terrain around the stops and samples it at each stop.
std::optional<geo::Terrain> ask_terrain(const io::SurveyFile& file, model::Survey& survey, unsigned threads,
                                        ProblemLog& problems, Progress& progress) {
    if (!file.terrain || survey.stops.empty()) return std::nullopt;
    progress.stage("reading the terrain", 0);
    Box wanted;
    std::vector<Point> places;
    for (const model::Stop& stop : survey.stops) {
        places.push_back(stop.position);
        wanted.add(stop.position);
    }
    wanted.add(Point{wanted.min_x - geo::terrain_margin_m, wanted.min_y - geo::terrain_margin_m});
    wanted.add(Point{wanted.max_x + geo::terrain_margin_m, wanted.max_y + geo::terrain_margin_m});
    io::TerrainRead ground = io::read_terrain(file, *file.terrain, survey.crs_wkt, wanted, threads, problems);
    if (!ground.terrain) return std::nullopt;
    survey.terrain = geo::terrain_at(*ground.terrain, places, threads);
    trace_creep(*ground.terrain, places, survey, threads);
    tell_of_terrain(file.terrain->source, survey, problems);
    return std::move(ground.terrain);
}

std::string in_degrees(double angle) { return std::to_string(std::lround(angle)) + "°"; }

/// Where contacts run if they follow the beds with measured strikes and dips.
std::vector<geo::ContactTrace> trace_beds(const model::Survey& survey, const geo::UnitMap& map,
                                          const geo::Terrain* terrain, ProblemLog& problems) {
    if (survey.attitudes.empty()) return {};
    const auto tell = [&](Severity severity, const model::Attitude* of, std::string message, std::string remedy) {
        problems.add({.severity = severity,
                      .source = survey.attitude_source,
                      .row = of != nullptr ? std::optional(of->row) : std::nullopt,
                      .field = {},
                      .value = {},
                      .message = std::move(message),
                      .remedy = std::move(remedy),
                      .position = of != nullptr ? std::optional(of->position) : std::nullopt});
    };
    if (terrain == nullptr) {
        tell(Severity::note, nullptr, "attitudes need a terrain to tell where contacts run; they are not used",
             "Add 'terrain' to the survey file.");
        return {};
    }
    std::vector<geo::BedAttitude> attitudes;
    for (const model::Attitude& a : survey.attitudes)
        attitudes.push_back({a.position, a.strike_deg, a.dip_deg, a.error_deg});
    const std::vector<std::size_t> odd = geo::attitudes_at_odds(attitudes);
    std::vector<geo::BedAttitude> taken;
    for (std::size_t i = 0; i < attitudes.size(); ++i) {
        if (!std::binary_search(odd.begin(), odd.end(), i)) {
            taken.push_back(attitudes[i]);
            continue;
        }
        tell(Severity::warning, &survey.attitudes[i],
             "the attitude (strike " + in_degrees(attitudes[i].strike_deg) + ", dip " +
                 in_degrees(attitudes[i].dip_deg) + ") is at odds with all others around it; it is left out",
             "Was the strike read by the right-hand rule, the bed dipping to the right of it? Was it a loose block?");
    }
    const geo::BedSurface beds(taken, geo::likeliest_bend(taken));
    geo::ContactTraceOptions options;
    options.contact_sd_m = survey.contact_sd_m;
    for (const model::LegendUnit& unit : survey.units) options.cover.push_back(unit.cover ? 1 : 0);
    geo::ContactTraces traced = geo::trace_contacts(map, *terrain, beds, options);
    if (traced.at_odds > 0) {
        tell(Severity::note, nullptr,
             std::to_string(traced.at_odds) + (traced.at_odds == 1 ? " contact does" : " contacts do") +
                 " not run as beds of these attitudes would over the terrain; " +
                 (traced.at_odds == 1 ? "it is" : "they are") + " left to the stops",
             "Faults and intrusive contacts follow no bed. If these do, check the attitudes near them.");
    }
    return std::move(traced.traces);
}

/// A draft that shows a deposit does not tell the rock below it. So a hole through the deposit cannot contradict it.
void set_rock_below_cover_aside(model::Survey& survey, const geo::UnitMap& map, ProblemLog& problems) {
    std::size_t aside = 0;
    const std::size_t first = survey.stops.size() - survey.boreholes.size();
    for (std::size_t h = 0; h < survey.boreholes.size(); ++h) {
        model::Stop& stop = survey.stops[first + h];
        if (stop.unit_seen == model::no_unit || survey.units[static_cast<std::size_t>(stop.unit_seen)].cover) continue;
        const model::UnitIndex mapped = map.unit_at(stop.position);
        if (mapped == model::no_unit || !survey.units[static_cast<std::size_t>(mapped)].cover) continue;
        survey.boreholes[h].unit_below_cover = std::exchange(stop.unit_seen, model::no_unit);
        ++aside;
    }
    if (aside == 0) return;
    problems.add(
        {.severity = Severity::note,
         .source = survey.borehole_source,
         .row = std::nullopt,
         .field = survey.borehole_columns.of("unit_seen"),
         .value = {},
         .message = std::to_string(aside) + (aside == 1 ? " borehole goes" : " boreholes go") +
                    " through a deposit that the draft shows; the rock below says nothing about the draft there",
         .remedy = "Nothing to do. To use it, give a draft of the bedrock alone.",
         .position = std::nullopt});
}

}  // namespace

PreparedSurvey prepare_survey(const io::SurveyFile& file, unsigned threads, ProblemLog& problems, Progress& progress) {
    model::Survey survey = io::read_survey(file, threads, problems, progress);
    std::optional<geo::Terrain> terrain = ask_terrain(file, survey, threads, problems, progress);
    if (survey.attitudes.empty()) terrain.reset();  // freed, because it is large
    const std::size_t polygons = survey.map.size();
    std::vector<model::MapPolygon> ground = std::exchange(survey.map, {});

    // Notes and map are independent, so they are prepared in parallel.
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
    set_rock_below_cover_aside(survey, map, problems);
    if (polygons > 0) infer::audit_rock_seen(survey, map, problems);
    std::vector<geo::ContactTrace> traces = trace_beds(survey, map, terrain ? &*terrain : nullptr, problems);
    return {std::move(survey), polygons, std::move(map), std::move(reduced), std::move(traces)};
}

}  // namespace subcrop::publish
