// What strikes and dips are worth on an invented survey whose truth is known: how far contacts lie from where they
// truly run, as drafted, relocated by the stops alone, and by stops and beds together.
//     beds FOLDER...
// FOLDER is what scripts/make_sampledata --attitudes N writes.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "bench/forced_field.hpp"
#include "infer/answer/reckoning.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/publish/prepared_survey.hpp"

namespace {

using namespace subcrop;

struct Distances {
    double sum = 0, squares = 0, length = 0;
    void add(double d) {
        sum += d;
        squares += d * d;
        ++length;
    }
    void print(const char* name) const {
        std::printf("  %-34s mean %5.1f m, rms %5.1f m\n", name, sum / length, std::sqrt(squares / length));
    }
};

/// Places 25 m apart on the contacts between bedrock units, moved by `moved`.
/// `wrong_m`: only those that are drafted farther than this from the truth.
template <class Move>
Distances distances(const model::Survey& survey, const geo::UnitMap& draft, const geo::UnitMap& truth, double wrong_m,
                    Move moved) {
    Distances result;
    for (const geo::Contact& contact : draft.contacts()) {
        if (survey.units[static_cast<std::size_t>(contact.unit_a)].cover ||
            survey.units[static_cast<std::size_t>(contact.unit_b)].cover)
            continue;
        double next = 12, begun = 0;
        for (std::size_t i = 1; i < contact.line.size(); ++i) {
            const Point a = contact.line[i - 1], b = contact.line[i];
            const double step = distance(a, b);
            for (; step > 0 && next <= begun + step; next += 25) {
                const double t = (next - begun) / step;
                const Point place{std::lerp(a.x, b.x, t), std::lerp(a.y, b.y, t)};
                const auto before = truth.nearest_contact(place, 150);  // farther off lie patches of another unit
                if (!before || before->distance_m < wrong_m) continue;
                const auto nearest = truth.nearest_contact(moved(place), 400);
                if (nearest) result.add(nearest->distance_m);
            }
            begun += step;
        }
    }
    return result;
}

/// A field of one contact_sd, whatever the guard says.
infer::ShiftField forced(const publish::PreparedSurvey& data, const infer::Fit& fit,
                         std::span<const geo::ContactTrace> traces) {
    bench::ForcedField forced = bench::forced_field(data.map, fit, data.survey.contact_sd_m, traces);
    std::printf("  the beds support a displacement with %.1f nats\n", forced.trace_evidence);
    return std::move(forced.field);
}

void run(const std::string& folder) {
    ProblemLog problems;
    Progress silent;
    io::SurveyFile file = io::read_survey_file(folder + "/survey.json");
    const publish::PreparedSurvey data = publish::prepare_survey(file, 0, problems, silent);
    file.map->source = "truth/truth_map.gpkg";
    const publish::PreparedSurvey truth = publish::prepare_survey(file, 0, problems, silent);
    std::size_t places = 0;
    double misfit = 0;
    for (const geo::ContactTrace& trace : data.traces) {
        places += trace.places.size();
        misfit += trace.misfit / static_cast<double>(data.traces.size());
    }
    std::printf("%s: %zu traces, %zu places, misfit %.2f\n", folder.c_str(), data.traces.size(), places, misfit);
    const auto tell = [&](const char* name, auto moved) {
        distances(data.survey, data.map, truth.map, 0, moved).print(name);
        distances(data.survey, data.map, truth.map, 25, moved).print("  where drafted over 25 m wrong");
    };
    tell("as drafted", [](Point p) { return p; });
    for (const bool beds : {false, true}) {
        infer::FitOptions options;
        if (beds) options.traces = data.traces;
        const infer::Fit fit = infer::fit_stops(data.survey, data.reduced, data.map, 0, problems, silent, options);
        std::printf("  %s: A %.0f H %.0f gain %.1f +- %.1f, beds %.1f%s\n", beds ? "stops and beds" : "stops alone",
                    fit.shift.amplitude_m, fit.shift.reach_m, fit.shift.gain, fit.shift.gain_error,
                    fit.shift.trace_gain, fit.shift.beds_refused ? ", refused" : "");
        tell(beds ? "stops and beds" : "stops alone", [&](Point p) { return fit.shift.field.true_place(p); });
        const infer::ShiftField field = forced(data, fit, beds ? data.traces : std::vector<geo::ContactTrace>());
        tell(beds ? "stops and beds, guard left out" : "stops alone, guard left out",
             [&](Point p) { return field.true_place(p); });
    }
}

}  // namespace

int main(int argc, char** argv) {
    try {
        for (int i = 1; i < argc; ++i) run(argv[i]);
    } catch (const Error& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 1;
    }
    return 0;
}
