// What following creep is worth on an invented survey whose truth is known: false conflicts below contacts, and how far
// down the slope contacts are drawn that lie right. Printed by tests/bench/creep_table.
//     creep FOLDER
// FOLDER is what scripts/make_sampledata writes. A line each without creep, with 25 m, with 60 m, and as the stops
// themselves choose.
#include "subcrop/geo/creep.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "bench/forced_field.hpp"
#include "bench/true_stops.hpp"
#include "infer/answer/reckoning.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/geo/terrain_at_stops.hpp"
#include "subcrop/infer/average_precision.hpp"
#include "subcrop/infer/shift_field.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/io/survey_reader.hpp"
#include "subcrop/io/terrain_reader.hpp"

namespace {

using namespace subcrop;

struct Figures {
    std::size_t stops = 0, wrong = 0, conflicts = 0, false_conflicts = 0, crept = 0, false_crept = 0;
    double p_mapped_crept =
        0;  ///< mean probability of the mapped unit where it is right but the soil came from another
    double foreign = 0,
           true_foreign =
               0;  ///< share of soil that came from another unit, as reckoned and in truth, mean of all stops
    infer::CreepChoice choice;
    double log_loss = 0;  ///< of "the draft is right here", nats a stop
    double average_precision = 0;
    double downslope_m = 0;  ///< mean move of right contacts down the slope under a field of 1 contact_sd
    double spread_m = 0;     ///< root mean square of the same
};

struct Data {
    model::Survey survey;
    model::Reduced reduced;
    geo::Terrain terrain;
    ProblemLog problems;
};

/// `draft`: another map file than the survey's own.
Data read(const std::string& folder, double length_m, const std::string& draft) {
    ProblemLog problems;
    Progress silent;
    io::SurveyFile file = io::read_survey_file(folder + "/survey.json");
    if (length_m >= 0) file.settings.creep.length_m = length_m;
    if (!draft.empty()) file.map->source = draft;
    model::Survey survey = io::read_survey(file, 0, problems, silent);
    Box wanted;
    std::vector<Point> places;
    for (const model::Stop& stop : survey.stops) {
        places.push_back(stop.position);
        wanted.add(stop.position);
    }
    wanted.add(Point{wanted.min_x - 1000, wanted.min_y - 1000});
    wanted.add(Point{wanted.max_x + 1000, wanted.max_y + 1000});
    geo::Terrain terrain = *io::read_terrain(file, *file.terrain, survey.crs_wkt, wanted, 0, problems).terrain;
    survey.terrain = geo::terrain_at(terrain, places, 0);
    std::vector<std::optional<double>> cover_cm;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) cover_cm.push_back(model::cover_thickness_cm(survey, s));
    for (const double trial_m : length_m < 0 ? std::vector<double>{25, 60} : std::vector<double>{length_m}) {
        if (trial_m == 0) break;
        survey.creep.push_back(
            {trial_m, geo::trace_creep(terrain, places, survey.terrain, cover_cm, survey.settings.creep, trial_m, 0)});
    }
    model::Reduced reduced = model::reduce(survey, problems);
    return {std::move(survey), std::move(reduced), std::move(terrain), {}};
}

geo::UnitMap map_of(Data& data) {
    geo::UnitMapOptions options;
    options.contact_sd_m = data.survey.contact_sd_m;
    options.source = data.survey.map_source;
    return {data.survey.map, data.survey.units.size(), options, data.problems};
}

/// Verdicts on the survey's own draft.
void judge_stops(const std::string& folder, double length_m, Figures& figures) {
    Data data = read(folder, length_m, "");
    const geo::UnitMap map = map_of(data);
    Progress silent;
    const infer::Fit fit = infer::fit_stops(data.survey, data.reduced, map, 0, data.problems, silent);
    const auto truth = bench::read_true_stops(folder + "/truth/truth_stops.csv");
    std::vector<std::pair<double, bool>> scored;
    for (std::size_t s = 0; s < fit.stops.size(); ++s) {
        const auto found = truth.find(data.survey.stops[s].id);
        if (found == truth.end() || fit.stops[s].mapped_unit == model::no_unit) continue;
        const infer::StopFit& stop = fit.stops[s];
        for (const infer::Origin& origin : fit.reckoning->origins.of(s)) {
            for (const model::UnitIndex source : origin.sources)
                figures.foreign += source != origin.below ? static_cast<double>(origin.share) / 6 : 0.0;
        }
        figures.true_foreign += 1 - found->second.own_soil;
        const bool wrong = found->second.unit != found->second.draft_unit;
        const bool flagged = stop.verdict == infer::Verdict::conflicts;
        const bool crept = !wrong && found->second.own_soil < 0.5;
        ++figures.stops;
        figures.wrong += wrong;
        figures.conflicts += flagged;
        figures.false_conflicts += flagged && !wrong;
        figures.crept += crept;
        figures.false_crept += flagged && crept;
        if (crept) figures.p_mapped_crept += stop.p_mapped;
        figures.log_loss -= std::log(std::max(wrong ? 1 - stop.p_mapped : stop.p_mapped, 1e-6));
        scored.emplace_back(1 - stop.p_mapped, wrong);
    }
    figures.p_mapped_crept /= std::max<double>(1, static_cast<double>(figures.crept));
    figures.log_loss /= static_cast<double>(figures.stops);
    figures.foreign /= static_cast<double>(figures.stops);
    figures.true_foreign /= static_cast<double>(figures.stops);
    figures.choice = fit.creep;
    figures.average_precision = infer::average_precision(std::move(scored));
}

/// The true map as draft: where a field of one contact_sd draws its contacts, though nothing is wrong.
void move_right_contacts(const std::string& folder, double length_m, Figures& figures) {
    Data data = read(folder, length_m, "truth/truth_map.gpkg");
    const geo::UnitMap map = map_of(data);
    Progress silent;
    infer::FitOptions still;
    still.move_contacts = false;
    const infer::Fit fit = infer::fit_stops(data.survey, data.reduced, map, 0, data.problems, silent, still);
    const bench::ForcedField forced = bench::forced_field(map, fit, data.survey.contact_sd_m, {});
    const infer::ShiftField& field = forced.field;
    double sum = 0, squares = 0, count = 0;
    for (const geo::Contact& contact : map.contacts()) {
        double next = 25, begun = 0;
        for (std::size_t i = 1; i < contact.line.size(); ++i) {
            const Point a = contact.line[i - 1], b = contact.line[i];
            const double step = distance(a, b);
            for (; step > 0 && next <= begun + step; next += 50) {
                const double t = (next - begun) / step;
                const Point p{std::lerp(a.x, b.x, t), std::lerp(a.y, b.y, t)};
                const auto ground = data.terrain.surface(p, 20);
                if (!ground || ground->slope_deg < 6) continue;
                const bool near = std::any_of(forced.testimony.place.begin(), forced.testimony.place.end(),
                                              [&](const Point& stop) { return distance(stop, p) < 150; });
                if (!near) continue;
                const Point normal{(b.y - a.y) / step, (a.x - b.x) / step};
                const double facing = -(normal.x * ground->uphill.x + normal.y * ground->uphill.y);
                if (std::abs(facing) < 0.5) continue;
                const Point to = field.true_place(p);
                const double down = ((to.x - p.x) * normal.x + (to.y - p.y) * normal.y) * (facing > 0 ? 1 : -1);
                sum += down;
                squares += down * down;
                ++count;
            }
            begun += step;
        }
    }
    figures.downslope_m = sum / count;
    figures.spread_m = std::sqrt(squares / count);
}

void print(const char* name, const Figures& f) {
    std::printf(
        "%s length %.0f stops %zu wrong %zu conflicts %zu false %zu crept %zu false_crept %zu p_crept %.3f loss %.4f "
        "ap %.3f down %.2f rms %.2f "
        "foreign %.4f true_foreign %.4f",
        name, f.choice.length_m, f.stops, f.wrong, f.conflicts, f.false_conflicts, f.crept, f.false_crept,
        f.p_mapped_crept, f.log_loss, f.average_precision, f.downslope_m, f.spread_m, f.foreign, f.true_foreign);
    for (const infer::CreepTrial& trial : f.choice.trials) std::printf(" gain_%.0f %.1f", trial.length_m, trial.gain);
    std::puts("");
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fputs("usage: creep FOLDER\n", stderr);
        return 2;
    }
    try {
        for (const double length_m : {0.0, 25.0, 60.0, -1.0}) {
            Figures figures;
            judge_stops(argv[1], length_m, figures);
            move_right_contacts(argv[1], length_m, figures);
            print(length_m < 0 ? "asked " : length_m > 0 ? "stated" : "off   ", figures);
        }
    } catch (const Error& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 1;
    }
    return 0;
}
