// Small surveys: 40 to 220 stops on five to ten traverses, three units, the draft right but for one stretch of contact,
// wrong by 40 to 100 m, that three traverses or more cross; and the same surveys on a right draft. Is the stretch
// named, and how far off?
//     few_stops [--seeds 20] [--first 1] [--verbose]
// The ground, its soils and the errors are invented here; nothing of subcrop's model is in them but its notes.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>

#include "bench/few_stops_survey.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"

namespace {

using namespace subcrop;

struct Tally {
    int surveys = 0, named = 0, within = 0, false_named = 0, quiet = 0;
};

void judge(unsigned seed, bool wrong, bool verbose, Tally& tally) {
    bench::FewStopsMaker maker(seed);
    bench::FewStopsSurvey invented;
    maker.make(wrong, invented);
    const auto judged = invented.made.judge(0);
    const infer::Relocation relocation =
        infer::relocate(invented.made.survey, *judged.map, judged.fit, 0, invented.made.problems);
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
            const bool here = wrong && is_west &&
                              std::min(high, invented.to_y) - std::max(low, invented.from_y) >
                                  0.3 * (invented.to_y - invented.from_y);
            elsewhere += !here;
            if (here) {
                named = true;
                within = within || std::abs(truth - stretch.shift_m) <= infer::half_width_in_sd * stretch.shift_sd_m;
            }
            char text[160];
            std::snprintf(text, sizeof text, "  %s y %.0f-%.0f by %.0f (sd %.0f), truly %.0f;",
                          is_west ? "west" : "east", low, high, stretch.shift_m, stretch.shift_sd_m,
                          is_west ? truth : 0);
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
            std::printf(
                "   contact %u, y %.0f to %.0f: %.0f m (%.0f), ln odds %.1f, %.1f without one group, %zu stops\n",
                stretch.contact, stretch.drafted.front().y, stretch.drafted.back().y, stretch.shift_m,
                stretch.shift_sd_m, stretch.log_odds, stretch.log_odds_without_one, stretch.stops.size());
        std::printf(
            "seed %3u %s: %3zu stops, y %.0f-%.0f off %.0f m over %zu traverses; learnt %.0f m, gain %.1f (%.1f)%s\n",
            seed, wrong ? "wrong" : "right", invented.made.survey.stops.size(), invented.from_y, invented.to_y,
            invented.off_m, invented.traverses_across, judged.fit.answer.empty() ? 0 : judged.fit.answer.contact_sd_m(),
            judged.fit.shift.gain, judged.fit.shift.gain_error, told.c_str());
    }
}

}  // namespace

int main(int argc, char** argv) {
    unsigned seeds = 20, first = 1;
    bool verbose = false;
    for (int i = 1; i < argc; ++i) {
        if (!std::strcmp(argv[i], "--verbose"))
            verbose = true;
        else if (!std::strcmp(argv[i], "--seeds") && i + 1 < argc)
            seeds = static_cast<unsigned>(std::atoi(argv[++i]));
        else if (!std::strcmp(argv[i], "--first") && i + 1 < argc)
            first = static_cast<unsigned>(std::atoi(argv[++i]));
        else {
            std::fputs("usage: few_stops [--seeds N] [--first SEED] [--verbose]\n", stderr);
            return 2;
        }
    }
    Tally wrong, right;
    for (unsigned seed = first; seed < first + seeds; ++seed) judge(seed, true, verbose, wrong);
    for (unsigned seed = first; seed < first + seeds; ++seed) judge(seed, false, verbose, right);
    std::printf(
        "wrong drafts, seeds %u to %u: stretch named in %d of %d, its size within the 90 %% interval in %d; another "
        "one named in %d\n",
        first, first + seeds - 1, wrong.named, wrong.surveys, wrong.within, wrong.false_named);
    std::printf("right drafts: nothing named in %d of %d\n", right.quiet, right.surveys);
    return 0;
}
