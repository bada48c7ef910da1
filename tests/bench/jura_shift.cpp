// How well the shift field finds contacts that were moved on purpose: the Jura soil survey with its map warped.
//     jura_shift build/open_data/jura [--seeds 5] [--warp 200] [--length 800] [--stops FILE]
// --stops writes, for every stop of every run, what tests/bench/jura_shift_table needs to put other methods beside it.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <numbers>
#include <random>
#include <stdexcept>
#include <string>

#include "bench/map_figures.hpp"
#include "reference/jura_soil.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/average_precision.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"

namespace {

using namespace subcrop;

/// A smooth random displacement with Gaussian correlation, by random Fourier features.
class Warp {
public:
    Warp(double rms_m, double length_m, unsigned seed) {
        std::mt19937 engine(seed);
        std::normal_distribution<double> normal(0, 1 / length_m);
        std::uniform_real_distribution<double> phase(0, 2 * std::numbers::pi);
        for (auto& component : waves_) {
            for (auto& wave : component) wave = {normal(engine), normal(engine), phase(engine)};
        }
        scale_ = rms_m / std::sqrt(2.0) *
                 std::sqrt(2.0 / static_cast<double>(count));  // rms of the vector, not of each component
    }
    Point at(Point p) const { return {sum(waves_[0], p), sum(waves_[1], p)}; }
    /// The place that was warped to `warped`, by plain iteration: these warps are gentle.
    Point before(Point warped) const {
        Point p = warped;
        for (int i = 0; i < 200; ++i) {
            const Point d = at(p);
            const Point miss{warped.x - p.x - d.x, warped.y - p.y - d.y};
            if (std::hypot(miss.x, miss.y) < 1e-3) break;
            p = {p.x + 0.7 * miss.x, p.y + 0.7 * miss.y};
        }
        return p;
    }

private:
    static constexpr std::size_t count = 300;
    struct Wave {
        double kx, ky, phase;
    };
    double sum(const std::array<Wave, count>& waves, Point p) const {
        double total = 0;
        for (const Wave& w : waves) total += std::cos(w.kx * p.x + w.ky * p.y + w.phase);
        return scale_ * total;
    }
    std::array<std::array<Wave, count>, 2> waves_{};
    double scale_ = 0;
};

Ring densified(const Ring& ring, double step) {
    Ring result;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const Point a = ring[i], b = ring[i + 1];
        const int pieces = std::max(1, static_cast<int>(std::lround(distance(a, b) / step)));
        // from the lower end, so that both polygons of an edge cut it at the same bits
        const bool turned = b.x < a.x || (b.x == a.x && b.y < a.y);
        const Point low = turned ? b : a, high = turned ? a : b;
        std::vector<Point> cuts;
        for (int k = 1; k < pieces; ++k) {
            const double t = static_cast<double>(k) / pieces;
            cuts.push_back({low.x + t * (high.x - low.x), low.y + t * (high.y - low.y)});
        }
        if (turned) std::reverse(cuts.begin(), cuts.end());
        result.push_back(a);
        result.insert(result.end(), cuts.begin(), cuts.end());
    }
    result.push_back(ring.back());
    return result;
}

template <class Move>
std::vector<model::MapPolygon> moved(std::vector<model::MapPolygon> map, const Move& move) {
    auto move_ring = [&](Ring& ring) {
        ring = densified(ring, 50);
        for (Point& p : ring) p = move(p);
    };
    for (model::MapPolygon& polygon : map) {
        move_ring(polygon.polygon.shell);
        for (Ring& hole : polygon.polygon.holes) move_ring(hole);
    }
    return map;
}

struct Figures {
    double wrong = 0, ap_distance = 0, ap_rest = 0, ap_moved = 0, ground_before = 0, ground_after = 0,
           contact_before = 0, contact_after = 0, covered = 0, half_width = 0, flags = 0, false_flags = 0, adopted = 0,
           amplitude = 0, reach = 0, gain = 0, gain_error = 0, changed = 0, learnt_sd = 0, spoilt = 0;
};

struct Bench {
    model::Survey survey;
    std::vector<model::UnitIndex> rock;
    std::vector<model::MapPolygon> true_map;
};

geo::UnitMap map_of(const std::vector<model::MapPolygon>& polygons, std::size_t units) {
    ProblemLog ignored;
    return {polygons, units, {}, ignored};
}

Figures run(const Bench& bench, double warp_m, double length_m, double seen_share, unsigned seed,
            std::FILE* stops_file) {
    Bench b = bench;
    const std::size_t units = b.survey.units.size();
    const Warp warp(std::max(warp_m, 1e-9), length_m, seed);
    auto warped = moved(b.true_map, [&](Point p) {
        if (warp_m <= 0) return p;
        const Point d = warp.at(p);
        return Point{p.x + d.x, p.y + d.y};
    });
    std::mt19937 engine(seed * 7919 + 1);
    std::vector<std::size_t> order(b.rock.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::shuffle(order.begin(), order.end(), engine);
    for (auto& stop : b.survey.stops) stop.unit_seen = model::no_unit;
    for (std::size_t i = 0; i < static_cast<std::size_t>(seen_share * static_cast<double>(order.size())); ++i) {
        b.survey.stops[order[i]].unit_seen = b.rock[order[i]];
    }
    b.survey.contact_sd_m = 200;
    ProblemLog problems;
    Progress silent;
    const geo::UnitMap truth = map_of(b.true_map, units);
    geo::UnitMapOptions options;
    options.contact_sd_m = 200;
    const geo::UnitMap draft(warped, units, options, problems);
    const model::Reduced reduced = model::reduce(b.survey, problems);
    infer::FitOptions still, moving;
    still.move_contacts = false;
    moving.move_contacts = true;
    const infer::Fit rest = infer::fit_stops(b.survey, reduced, draft, 0, problems, silent, still);
    const infer::Fit fit = infer::fit_stops(b.survey, reduced, draft, 0, problems, silent, moving);

    Figures f;
    std::vector<std::pair<double, bool>> by_distance, by_rest, by_fit;
    for (std::size_t s = 0; s < b.survey.stops.size(); ++s) {
        if (fit.stops[s].mapped_unit == model::no_unit) continue;
        const bool wrong = fit.stops[s].mapped_unit != b.rock[s];
        f.wrong += wrong;
        if (stops_file) {
            const model::Stop& stop = b.survey.stops[s];
            std::fprintf(stops_file, "%.0f,%.2f,%u,%s,%.1f,%.1f,%d,%d,%d,%.1f,%.6f,%.6f\n", warp_m, seen_share, seed,
                         stop.id.c_str(), stop.position.x, stop.position.y, fit.stops[s].mapped_unit, b.rock[s],
                         stop.unit_seen, fit.stops[s].contact_distance_m, 1 - rest.stops[s].p_mapped,
                         1 - fit.stops[s].p_mapped);
        }
        by_distance.emplace_back(-fit.stops[s].contact_distance_m, wrong);
        by_rest.emplace_back(1 - rest.stops[s].p_mapped, wrong);
        by_fit.emplace_back(1 - fit.stops[s].p_mapped, wrong);
        if (fit.stops[s].verdict == infer::Verdict::conflicts) {
            f.flags += 1;
            f.false_flags += !wrong;
        }
    }
    f.wrong /= static_cast<double>(by_fit.size());
    f.ap_distance = infer::average_precision(by_distance);
    f.ap_rest = infer::average_precision(by_rest);
    f.ap_moved = infer::average_precision(by_fit);

    const infer::Relocation relocation = infer::relocate(b.survey, draft, fit, 0, problems);
    const geo::UnitMap drawn =
        bench::drawn_map(b.survey, draft, infer::revise_map(b.survey, draft, fit, relocation, 0));
    const Box extent = truth.extent();
    double cells = 0;
    for (double x = extent.min_x + 25; x < extent.max_x; x += 50) {
        for (double y = extent.min_y + 25; y < extent.max_y; y += 50) {
            const Point p{x, y};
            const auto right = truth.unit_at(p);
            if (right == model::no_unit) continue;
            const auto before = draft.unit_at(p);
            const auto after = drawn.unit_at(p);
            f.spoilt += before == right && after != right && after != model::no_unit;
            cells += 1;
            f.ground_before += before != right && before != model::no_unit;
            f.ground_after += after != right && after != model::no_unit;
            f.changed += before != after;
        }
    }
    f.ground_before /= cells;
    f.ground_after /= cells;
    f.changed /= cells;
    f.spoilt /= cells;

    // Mean distance from the drafted contact to the same contact in truth, point by point, by the known warp.
    double count = 0;
    for (const geo::Contact& contact : draft.contacts()) {
        for (const Point& p : contact.line) {
            const auto before = truth.nearest_contact(p, 5000);
            const auto after = truth.nearest_contact(fit.shift.field.true_place(p), 5000);
            if (!before || !after) continue;
            count += 1;
            f.contact_before += before->distance_m;
            f.contact_after += after->distance_m;
        }
    }
    f.contact_before /= count;
    f.contact_after /= count;

    // Share of the contacts' length whose true place, known from the warp, lies within the 90 % half-width along the
    // normal.
    double length = 0;
    for (std::size_t c = 0; c < draft.contacts().size(); ++c) {
        const Line& drafted = draft.contacts()[c].line;
        const Line& line = infer::relocated_line(relocation, draft, c);
        const auto& widths = relocation.contacts[c].half_widths_m;
        if (line.size() != drafted.size())
            throw std::runtime_error("the drafted contacts were meant to be fine enough");
        for (std::size_t i = 1; i < line.size(); ++i) {
            const Point y{(drafted[i - 1].x + drafted[i].x) / 2, (drafted[i - 1].y + drafted[i].y) / 2};
            const Point right = warp_m > 0 ? warp.before(y) : y;
            const Point put{(line[i - 1].x + line[i].x) / 2, (line[i - 1].y + line[i].y) / 2};
            const double piece = distance(line[i - 1], line[i]);
            if (piece <= 0) continue;
            const double off =
                ((put.x - right.x) * (line[i - 1].y - line[i].y) + (put.y - right.y) * (line[i].x - line[i - 1].x)) /
                piece;
            const double width = widths.size() == 1 ? widths[0] : (widths[i - 1] + widths[i]) / 2;
            length += piece;
            f.covered += piece * (std::abs(off) <= width);
            f.half_width += piece * width;
        }
    }
    f.covered /= length;
    f.half_width /= length;
    f.adopted = !fit.shift.field.still();
    f.amplitude = fit.shift.amplitude_m;
    f.reach = fit.shift.reach_m;
    f.gain = fit.shift.gain;
    f.gain_error = fit.shift.gain_error;
    f.learnt_sd = fit.contact_sd_m;
    return f;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fputs("usage: jura_shift FOLDER [--seeds N] [--warp M] [--length M]\n", stderr);
        return 2;
    }
    int seeds = 5;
    double warp = 200, length = 800;
    std::FILE* stops_file = nullptr;
    for (int i = 2; i + 1 < argc; i += 2) {
        if (!std::strcmp(argv[i], "--seeds")) seeds = std::atoi(argv[i + 1]);
        if (!std::strcmp(argv[i], "--warp")) warp = std::atof(argv[i + 1]);
        if (!std::strcmp(argv[i], "--length")) length = std::atof(argv[i + 1]);
        if (!std::strcmp(argv[i], "--stops")) stops_file = std::fopen(argv[i + 1], "w");
    }
    if (stops_file)
        std::fputs("warp,share_seen,seed,stop,x,y,mapped,rock,seen,distance,wrong_at_rest,wrong_moved\n", stops_file);
    const std::filesystem::path folder = argv[1];
    ProblemLog problems;
    Progress silent;
    Bench bench;
    bench.survey = io::read_survey(io::read_survey_file(folder / "survey.json"), 0, problems, silent);
    bench.true_map = std::exchange(bench.survey.map, {});
    // The true map is the grid; what it says at a stop counts as the rock there.
    const geo::UnitMap truth = map_of(bench.true_map, bench.survey.units.size());
    for (const auto& stop : bench.survey.stops) bench.rock.push_back(truth.unit_at(stop.position));
    std::puts(
        "warp  seen  seed  wrong  AP:dist  rest  moved  ground: before after changed  contact: before after  zone "
        "covers (half-width)  flags false  adopted A H gain(se)");
    for (const double w : {warp, 0.0}) {
        for (const double seen : {0.0, 0.1, 0.3}) {
            Figures mean;
            for (int seed = 1; seed <= seeds; ++seed) {
                const Figures f = run(bench, w, length, seen, static_cast<unsigned>(seed), stops_file);
                std::printf(
                    "%4.0f  %4.2f  %4d  %5.3f  %5.3f  %5.3f  %5.3f  %5.3f %5.3f %5.3f  %5.0f %5.0f  %4.2f (%3.0f)  "
                    "%3.0f %3.0f  %d %4.0f %5.0f %5.1f(%.1f) learnt %.0f spoilt %.3f\n",
                    w, seen, seed, f.wrong, f.ap_distance, f.ap_rest, f.ap_moved, f.ground_before, f.ground_after,
                    f.changed, f.contact_before, f.contact_after, f.covered, f.half_width, f.flags, f.false_flags,
                    f.adopted > 0, f.amplitude, f.reach, f.gain, f.gain_error, f.learnt_sd, f.spoilt);
                std::fflush(stdout);
                mean.ap_distance += f.ap_distance / seeds;
                mean.ap_rest += f.ap_rest / seeds;
                mean.ap_moved += f.ap_moved / seeds;
                mean.ground_before += f.ground_before / seeds;
                mean.ground_after += f.ground_after / seeds;
                mean.changed += f.changed / seeds;
                mean.contact_before += f.contact_before / seeds;
                mean.contact_after += f.contact_after / seeds;
                mean.covered += f.covered / seeds;
                mean.half_width += f.half_width / seeds;
                mean.flags += f.flags;
                mean.false_flags += f.false_flags;
                mean.adopted += f.adopted / seeds;
            }
            std::printf(
                "%4.0f  %4.2f  mean         %5.3f  %5.3f  %5.3f  %5.3f %5.3f %5.3f  %5.0f %5.0f  %4.2f (%3.0f)  false "
                "discoveries %.2f  adopted %.1f\n",
                w, seen, mean.ap_distance, mean.ap_rest, mean.ap_moved, mean.ground_before, mean.ground_after,
                mean.changed, mean.contact_before, mean.contact_after, mean.covered, mean.half_width,
                mean.flags > 0 ? mean.false_flags / mean.flags : 0.0, mean.adopted);
        }
    }
    if (stops_file) std::fclose(stops_file);
}
