// How well ground that was relabelled on purpose is found: the Jura soil survey, discs of its map given to another
// unit.
//     jura_patches build/open_data/jura [--seeds 12] [--discs 2] [--radius 400] [--contact-sd 50]
// The map is the truth, what it says at a stop counts as the rock there. A disc takes ground of the unit in its middle
// alone. Without discs the draft is right, and every bunch found is a false alarm.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <numeric>
#include <random>
#include <string>
#include <vector>

#include "bench/map_figures.hpp"
#include "infer/trial/wrong_draft.hpp"
#include "reference/jura_soil.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/average_precision.hpp"
#include "subcrop/infer/fit.hpp"

namespace {

using namespace subcrop;

struct Figures {
    double runs = 0, wrong = 0, ap_distance = 0, ap_without = 0, ap_patch = 0, ap_with = 0;
    double bunches = 0, false_bunches = 0, runs_with_false = 0, flags_without = 0, false_without = 0, flags_with = 0,
           false_with = 0, area_before = 0, area_after = 0, spoilt = 0;
};

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fputs("usage: jura_patches FOLDER [--seeds N] [--discs N] [--radius M] [--contact-sd M]\n", stderr);
        return 2;
    }
    unsigned seeds = 12, max_discs = 2;
    double radius = 400, contact_sd = 50;
    for (int i = 2; i + 1 < argc; i += 2) {
        if (!std::strcmp(argv[i], "--seeds")) seeds = static_cast<unsigned>(std::atoi(argv[i + 1]));
        if (!std::strcmp(argv[i], "--discs")) max_discs = static_cast<unsigned>(std::atoi(argv[i + 1]));
        if (!std::strcmp(argv[i], "--radius")) radius = std::atof(argv[i + 1]);
        if (!std::strcmp(argv[i], "--contact-sd")) contact_sd = std::atof(argv[i + 1]);
    }
    const std::filesystem::path folder = argv[1];
    ProblemLog problems;
    Progress silent;
    model::Survey survey = io::read_survey(io::read_survey_file(folder / "survey.json"), 0, problems, silent);
    const std::vector<model::MapPolygon> true_map = std::exchange(survey.map, {});
    const std::size_t units = survey.units.size();
    survey.contact_sd_m = contact_sd;
    const geo::UnitMap truth(true_map, units, {}, problems);
    std::vector<model::UnitIndex> rock;
    for (const auto& stop : survey.stops) rock.push_back(truth.unit_at(stop.position));
    const model::Reduced reduced = model::reduce(survey, problems);

    std::puts(
        "discs  seen  wrong   average precision: distance  without scan  scan alone  with scan   bunches false  runs "
        "with a false one   conflicts (false) without  with");
    for (const unsigned discs : {0U, max_discs}) {
        for (const double seen_share : {0.0, 0.1, 0.3}) {
            Figures f;
            for (unsigned seed = 1; seed <= seeds; ++seed) {
                std::mt19937 engine(seed);
                std::vector<model::MapPolygon> drafted = true_map;
                for (unsigned k = 0; k < discs; ++k) {
                    std::size_t s = 0;
                    do s = engine() % survey.stops.size();
                    while (rock[s] == model::no_unit);
                    std::vector<double> shares = truth.unit_areas_m2();
                    shares[static_cast<std::size_t>(rock[s])] = 0;
                    std::discrete_distribution<int> pick(shares.begin(), shares.end());
                    const model::UnitIndex to = pick(engine);
                    drafted = infer::relabelled(drafted, rock[s], to, geo::circle(survey.stops[s].position, radius));
                }
                geo::UnitMapOptions options;
                options.contact_sd_m = contact_sd;
                const geo::UnitMap draft(drafted, units, options, problems);
                std::mt19937 choice(seed * 7919 + 1);
                std::vector<std::size_t> order(rock.size());
                std::iota(order.begin(), order.end(), std::size_t{0});
                std::shuffle(order.begin(), order.end(), choice);
                for (auto& stop : survey.stops) stop.unit_seen = model::no_unit;
                for (std::size_t i = 0; i < static_cast<std::size_t>(seen_share * static_cast<double>(order.size()));
                     ++i)
                    survey.stops[order[i]].unit_seen = rock[order[i]];
                infer::FitOptions without;
                without.find_patches = false;
                const infer::Fit plain = infer::fit_stops(survey, reduced, draft, 0, problems, silent, without);
                const infer::Fit fit = infer::fit_stops(survey, reduced, draft, 0, problems, silent);

                std::vector<std::pair<double, bool>> by_distance, by_plain, by_patch, by_fit;
                double wrong_stops = 0;
                for (std::size_t s = 0; s < rock.size(); ++s) {
                    if (fit.stops[s].mapped_unit == model::no_unit) continue;
                    const bool wrong = fit.stops[s].mapped_unit != rock[s];
                    wrong_stops += wrong;
                    by_distance.emplace_back(-fit.stops[s].contact_distance_m, wrong);
                    by_plain.emplace_back(1 - plain.stops[s].p_mapped, wrong);
                    by_patch.emplace_back(fit.stops[s].p_disputed, wrong);
                    by_fit.emplace_back(1 - fit.stops[s].p_mapped, wrong);
                    f.flags_without += plain.stops[s].verdict == infer::Verdict::conflicts;
                    f.false_without += plain.stops[s].verdict == infer::Verdict::conflicts && !wrong;
                    f.flags_with += fit.stops[s].verdict == infer::Verdict::conflicts;
                    f.false_with += fit.stops[s].verdict == infer::Verdict::conflicts && !wrong;
                }
                const infer::Relocation relocation = infer::relocate(survey, draft, fit, 0, problems);
                const geo::UnitMap drawn =
                    bench::drawn_map(survey, draft, infer::revise_map(survey, draft, fit, relocation, 0));
                const bench::AreaFigures area =
                    bench::compare_ground(truth, draft, 50, [&](Point p) { return drawn.unit_at(p); });
                f.area_before += area.wrong_before;
                f.area_after += area.wrong_after;
                f.spoilt += area.spoilt;
                std::fprintf(stderr, "discs %u seen %.1f seed %u: learnt error %.0f m, gain of a move %.1f (%.1f)\n",
                             discs, seen_share, seed, fit.contact_sd_m, fit.shift.gain, fit.shift.gain_error);
                for (const infer::MisplacedStretch& stretch : fit.shift.stretches)
                    std::fprintf(
                        stderr,
                        "  stretch of contact %u: %.0f m (%.0f), ln odds %.1f, %.1f without one group, %zu stops\n",
                        stretch.contact, stretch.shift_m, stretch.shift_sd_m, stretch.log_odds,
                        stretch.log_odds_without_one, stretch.stops.size());
                double false_here = 0;
                for (const infer::StopCluster& patch : fit.clusters) {
                    double right = 0;
                    for (const std::uint32_t s : patch.stops) right += rock[s] == patch.drafted;
                    f.bunches += 1;
                    false_here += right > 0.5 * static_cast<double>(patch.stops.size());
                }
                f.false_bunches += false_here;
                f.runs_with_false += false_here > 0;
                f.runs += 1;
                f.wrong += wrong_stops / static_cast<double>(by_fit.size());
                f.ap_distance += infer::average_precision(by_distance);
                f.ap_without += infer::average_precision(by_plain);
                f.ap_patch += infer::average_precision(by_patch);
                f.ap_with += infer::average_precision(by_fit);
            }
            std::printf(
                "%5u  %4.2f  %5.3f %26.3f %13.3f %11.3f %10.3f %9.0f %5.0f %15.0f of %.0f %17.0f (%.0f) %10.0f (%.0f)  "
                "area wrong: before %.4f after %.4f spoilt %.4f\n",
                discs, seen_share, f.wrong / f.runs, f.ap_distance / f.runs, f.ap_without / f.runs, f.ap_patch / f.runs,
                f.ap_with / f.runs, f.bunches, f.false_bunches, f.runs_with_false, f.runs, f.flags_without,
                f.false_without, f.flags_with, f.false_with, f.area_before / f.runs, f.area_after / f.runs,
                f.spoilt / f.runs);
            std::fflush(stdout);
        }
    }
}
