// Small surveys: 40 to 220 stops on five to ten traverses, three units, the draft right but for one stretch of contact, wrong
// by 40 to 100 m, that three traverses or more cross; and the same surveys on a right draft. Is the stretch named, and how far off?
//     few_stops [--seeds 20] [--first 1] [--verbose]
// The ground, its soils and the errors are invented here; nothing of subcrop's model is in them but its notes.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "infer/invented_survey.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"

namespace {

using namespace subcrop;

constexpr double width = 2400, height = 1600, step = 40;

struct Invented {
    infer::InventedSurvey made;
    double from_y = 0, to_y = 0;  ///< of the wrong stretch, tapers included
    double off_m = 0;             ///< east of the truth, at its middle; 0: the draft is right
    std::size_t traverses_across = 0;
};

class Maker {
public:
    explicit Maker(unsigned seed) : random_(seed) {}

    void make(bool wrong, Invented& result) {
        model::Survey& survey = result.made.survey;
        survey.units.resize(3);
        survey.units[2].code = "MID";
        survey.map.clear();
        survey.contact_sd_m = 30;
        for (double& phase : phases_) phase = any(0, 2 * std::numbers::pi);
        const auto traverses = static_cast<int>(any(5, 10.999));
        const int stops = static_cast<int>(any(40, 220.999));
        const int each = std::max(7, stops / traverses);
        const double spacing = any(30, 70);

        // The wrong stretch lies on the western contact and takes in three traverses or more, not all.
        const double between = height / traverses;
        const int across = std::max(3, static_cast<int>(any(3, traverses - 0.001)));
        const int first = static_cast<int>(any(0, traverses - across + 0.999));
        result.traverses_across = static_cast<std::size_t>(across);
        result.from_y = between * (first + 0.1);
        result.to_y = between * (first + across - 0.1);
        const double off = any(40, 100) * (any(0, 1) < 0.5 ? -1 : 1);
        if (wrong) result.off_m = off;
        const auto drafted_west = [&](double y) {
            const double taper = 0.35 * between, inside = std::min(y - result.from_y, result.to_y - y) / taper;
            const double share = inside <= 0 ? 0 : inside >= 1 ? 1 : 0.5 - 0.5 * std::cos(std::numbers::pi * inside);
            return west(y) + share * result.off_m;
        };

        // Units from west to east: 0, 2, 1.
        Line a, b;
        for (double y = 0; y <= height; y += step) {
            a.push_back({drafted_west(y), y});
            b.push_back({east(y), y});
        }
        const auto band = [&](model::UnitIndex unit, const Line& left, const Line& right) {
            Ring ring = right;
            ring.insert(ring.end(), left.rbegin(), left.rend());
            ring.push_back(ring.front());
            survey.map.push_back({unit, static_cast<std::int64_t>(survey.map.size()) + 1, {ring, {}}});
        };
        band(0, {{0, 0}, {0, height}}, a);
        band(2, a, b);
        band(1, b, {{width, 0}, {width, height}});

        for (int t = 0; t < traverses; ++t) {
            const double y0 = between * (t + 0.5) + any(-0.15, 0.15) * between;
            double x = west(y0) - spacing * any(0.35, 0.65) * each;
            x = std::max(x, 20.0);
            for (int i = 0; i < each; ++i, x += spacing * any(0.7, 1.3)) {
                const double y = y0 + any(-15, 15);
                if (x > width - 20) break;
                const model::UnitIndex truth = x < west(y) ? 0 : x < east(y) ? 2 : 1;
                write_down(result.made, survey, truth, {x, y}, t, i);
            }
        }

    }

    double west(double y) const { return 800 + wave(y, 0); }
    double east(double y) const { return 1550 + wave(y, 2); }

private:
    double any(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
    double normal() { return std::normal_distribution<double>()(random_); }
    double wave(double y, int first) const {
        const auto f = static_cast<std::size_t>(first);
        return 90 * std::sin(2 * std::numbers::pi * y / 1500 + phases_[f]) + 35 * std::sin(2 * std::numbers::pi * y / 610 + phases_[f + 1]);
    }

    /// Half of the scatter is shared by stops of one traverse that follow one another.
    void write_down(infer::InventedSurvey& made, model::Survey& survey, model::UnitIndex unit, Point place, int traverse, int number) {
        static constexpr double hue[] = {2.2, 5.6, 3.9}, clay[] = {0.9, 4.1, 2.6};
        static const char* const hues[] = {"10R", "2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "5Y"};
        static const char* const textures[] = {"LS", "SL", "L", "CL", "SIC", "C"};
        for (double& drift : drift_) drift = number == 0 ? normal() : 0.8 * drift + 0.6 * normal();
        const auto u = static_cast<std::size_t>(unit);
        const auto pick = [&](double at, int count) { return std::clamp(static_cast<int>(std::lround(at)), 0, count - 1); };
        const int h = pick(hue[u] + 0.45 * drift_[0] + 0.45 * normal(), 7);
        const int c = pick(clay[u] + 0.45 * drift_[1] + 0.45 * normal(), 6);
        const std::string colour = std::string(hues[h]) + " " + std::to_string(4 + (any(0, 1) < 0.4)) + "/" + std::to_string(4 + 2 * (any(0, 1) < 0.4));
        const Point measured{place.x + 5 * normal(), place.y + 5 * normal()};
        const bool seen = any(0, 1) < 0.05;
        model::Stop& stop = made.add_stop(measured.x, measured.y, colour, textures[c]);
        stop.position_sd_m = 5;
        stop.traverse = survey.texts->intern("T" + std::to_string(traverse));
        if (seen) stop.unit_seen = unit;
    }

    std::mt19937 random_;
    double phases_[4] = {};
    double drift_[2] = {};
};

struct Tally {
    int surveys = 0, named = 0, within = 0, false_named = 0, quiet = 0;
};

void judge(unsigned seed, bool wrong, bool verbose, Tally& tally) {
    Maker maker(seed);
    Invented invented;
    maker.make(wrong, invented);
    const auto judged = invented.made.judge(0);
    const infer::Relocation relocation = infer::relocate(invented.made.survey, *judged.map, judged.fit, 0, invented.made.problems);
    bool named = false, within = false;
    int elsewhere = 0;
    std::string told;
    for (std::size_t i = 0; i < relocation.contacts.size(); ++i) {
        const bool is_west = judged.map->contacts()[i].unit_a == 0 || judged.map->contacts()[i].unit_b == 0;
        for (const infer::MovedStretch& stretch : relocation.contacts[i].stretches) {
            double low = 1e300, high = -1e300, truth = 0, count = 0;
            for (const Point p : stretch.drafted) {
                low = std::min(low, p.y);
                high = std::max(high, p.y);
                truth += std::abs(p.x - maker.west(p.y));
                count += 1;
            }
            truth /= count;
            const bool here = wrong && is_west && std::min(high, invented.to_y) - std::max(low, invented.from_y) > 0.3 * (invented.to_y - invented.from_y);
            elsewhere += !here;
            if (here) {
                named = true;
                within = within || std::abs(truth - stretch.shift_m) <= infer::half_width_in_sd * stretch.shift_sd_m;
            }
            char text[160];
            std::snprintf(text, sizeof text, "  %s y %.0f-%.0f by %.0f (sd %.0f), truly %.0f;", is_west ? "west" : "east", low, high, stretch.shift_m,
                          stretch.shift_sd_m, is_west ? truth : 0);
            told += text;
        }
    }
    ++tally.surveys;
    tally.named += named;
    tally.within += within;
    tally.false_named += elsewhere > 0;
    tally.quiet += !named && elsewhere == 0;
    if (verbose) {
        for (const infer::MisplacedStretch& stretch : judged.fit.shift.stretches)
            std::printf("   contact %u, y %.0f to %.0f: %.0f m (%.0f), ln odds %.1f, %.1f without one group, %zu stops\n", stretch.contact,
                        stretch.drafted.front().y, stretch.drafted.back().y, stretch.shift_m, stretch.shift_sd_m, stretch.log_odds,
                        stretch.log_odds_without_one, stretch.stops.size());
        std::printf("seed %3u %s: %3zu stops, y %.0f-%.0f off %.0f m over %zu traverses; learnt %.0f m, gain %.1f (%.1f)%s\n", seed, wrong ? "wrong" : "right",
                    invented.made.survey.stops.size(), invented.from_y, invented.to_y, invented.off_m, invented.traverses_across,
                    judged.fit.answer.empty() ? 0 : judged.fit.answer.contact_sd_m(), judged.fit.shift.gain, judged.fit.shift.gain_error, told.c_str());
    }
}

}  // namespace

int main(int argc, char** argv) {
    unsigned seeds = 20, first = 1;
    bool verbose = false;
    for (int i = 1; i < argc; ++i) {
        if (!std::strcmp(argv[i], "--verbose")) verbose = true;
        else if (!std::strcmp(argv[i], "--seeds") && i + 1 < argc) seeds = static_cast<unsigned>(std::atoi(argv[++i]));
        else if (!std::strcmp(argv[i], "--first") && i + 1 < argc) first = static_cast<unsigned>(std::atoi(argv[++i]));
        else {
            std::fputs("usage: few_stops [--seeds N] [--first SEED] [--verbose]\n", stderr);
            return 2;
        }
    }
    Tally wrong, right;
    for (unsigned seed = first; seed < first + seeds; ++seed) judge(seed, true, verbose, wrong);
    for (unsigned seed = first; seed < first + seeds; ++seed) judge(seed, false, verbose, right);
    std::printf("wrong drafts, seeds %u to %u: stretch named in %d of %d, its size within the 90 %% interval in %d; another one named in %d\n", first,
                first + seeds - 1, wrong.named, wrong.surveys, wrong.within, wrong.false_named);
    std::printf("right drafts: nothing named in %d of %d\n", right.quiet, right.surveys);
    return 0;
}
