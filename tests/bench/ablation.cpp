// What each kind of observation is worth: soil alone, by held-out signatures, judged against the known truth with each
// kind left out in turn and with each alone. The weights are learnt anew each time, never from the truth.
//     ablation sampledata/survey.json sampledata/truth/truth_stops.csv [--channels]
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <functional>
#include <map>
#include <numeric>
#include <sstream>
#include <string>
#include <vector>

#include "bench/true_stops.hpp"
#include "infer/answer/reckoning.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/infer/weights.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/io/survey_reader.hpp"

namespace {

using namespace subcrop;

std::vector<model::UnitIndex> true_units(const model::Survey& survey,
                                         const std::map<std::string, bench::TrueStop>& truth) {
    std::vector<model::UnitIndex> units;
    for (const model::Stop& stop : survey.stops) {
        // The second of two stops of one name bears a number in brackets.
        const auto found = truth.find(stop.id.substr(0, stop.id.find(' ')));
        model::UnitIndex unit = model::no_unit;
        for (std::size_t u = 0; found != truth.end() && u < survey.units.size(); ++u) {
            if (survey.units[u].code == found->second.unit) unit = static_cast<model::UnitIndex>(u);
        }
        units.push_back(unit);
    }
    return units;
}

/// "moist subsoil colour" is of the kind "moist colour".
std::string kind_of(const std::string& channel) {
    if (channel.ends_with("colour")) return channel.starts_with("dry") ? "dry colour" : "moist colour";
    return channel.ends_with("texture") ? "texture" : channel;
}

struct Score {
    double loss = 0;
    double accuracy = 0;
};

/// Soil alone, by the channels that `keep` takes, at the stops of known unit.
Score judge(const infer::Fit::Reckoning& all, const std::vector<model::UnitIndex>& truth,
            const std::function<bool(const std::string&)>& keep) {
    infer::Fit::Reckoning some;
    some.survey = all.survey;
    some.reduced = all.reduced;
    for (std::size_t c = 0; c < all.channels.size(); ++c) {
        if (keep(all.channels[c].name)) some.signatures.push_back(all.signatures[c]);
    }
    some.weights = infer::learn_weights(some.signatures, all.judges, all.fold_of_stop, all.log_shares).weights;
    Score score;
    double stops = 0;
    std::vector<double> p(all.units());
    for (std::size_t s = 0; s < truth.size(); ++s) {
        if (truth[s] == model::no_unit) continue;
        some.soil(s, p);
        for (std::size_t u = 0; u < p.size(); ++u) p[u] += all.log_shares[u];
        const auto greatest = std::max_element(p.begin(), p.end());
        const double scale = std::accumulate(p.begin(), p.end(), 0.0,
                                             [&](double sum, double x) { return sum + std::exp(x - *greatest); });
        score.loss += *greatest + std::log(scale) - p[static_cast<std::size_t>(truth[s])];
        score.accuracy += greatest - p.begin() == truth[s] ? 1 : 0;
        ++stops;
    }
    return {score.loss / stops, score.accuracy / stops};
}

void print_row(const std::string& name, std::size_t stops, const Score& without, const Score& alone, const Score& full,
               const Score& without_seen, const Score& full_seen) {
    std::printf("| %s | %zu | %.3f (%+.3f) | %.0f %% | %.3f | %.0f %% | %.3f (%+.3f) |\n", name.c_str(), stops,
                without.loss, without.loss - full.loss, 100 * without.accuracy, alone.loss, 100 * alone.accuracy,
                without_seen.loss, without_seen.loss - full_seen.loss);
}

void run(const char* survey_file, const char* truth_file, bool by_channel) {
    ProblemLog problems;
    Progress silent;
    model::Survey survey = io::read_survey(io::read_survey_file(survey_file), 0, problems, silent);
    const model::Reduced reduced = model::reduce(survey, problems);
    geo::UnitMapOptions options;
    options.contact_sd_m = survey.contact_sd_m;
    options.source = survey.map_source;
    const geo::UnitMap map(std::move(survey.map), survey.units.size(), options, problems);
    const infer::Fit fit = infer::fit_stops(survey, reduced, map, 0, problems, silent);
    const infer::Fit::Reckoning& reckoning = *fit.reckoning;
    const std::vector<model::UnitIndex> truth = true_units(survey, bench::read_true_stops(truth_file));

    std::vector<std::string> kinds;
    std::map<std::string, std::size_t> stops;
    std::map<std::string, std::vector<bool>> has_value;
    for (const infer::Channel& channel : reckoning.channels) {
        const std::string kind = by_channel ? channel.name : kind_of(channel.name);
        auto& has = has_value[kind];
        if (has.empty()) kinds.push_back(kind);
        has.resize(survey.stops.size());
        for (std::size_t s = 0; s < has.size(); ++s) has[s] = has[s] || channel.value_of_stop[s] >= 0;
    }
    for (const std::string& kind : kinds) {
        stops[kind] = static_cast<std::size_t>(std::count(has_value[kind].begin(), has_value[kind].end(), true));
    }
    auto kind = [&](const std::string& name) { return by_channel ? name : kind_of(name); };
    const Score full = judge(reckoning, truth, [](const std::string&) { return true; });
    const Score none = judge(reckoning, truth, [](const std::string&) { return false; });
    // A stop is judged by signatures learnt without its block of ground, so that the rock seen at it does not enter.
    std::vector<model::UnitIndex> seen;
    for (const model::Stop& stop : survey.stops) seen.push_back(stop.unit_seen);
    const Score full_seen = judge(reckoning, seen, [](const std::string&) { return true; });
    std::puts(
        "| kind of observation | stops | log loss without it | right | log loss by it alone | right | without it, "
        "where rock was seen |");
    std::puts("|---|---|---|---|---|---|---|");
    for (const std::string& one : kinds) {
        const auto others = [&](const std::string& name) { return kind(name) != one; };
        print_row(one, stops[one], judge(reckoning, truth, others),
                  judge(reckoning, truth, [&](const std::string& name) { return kind(name) == one; }), full,
                  judge(reckoning, seen, others), full_seen);
    }
    std::printf("\nAll kinds together: %.4f nats a stop, %.1f %% right; none at all: %.4f, %.1f %%. %zu stops.\n",
                full.loss, 100 * full.accuracy, none.loss, 100 * none.accuracy,
                static_cast<std::size_t>(std::count_if(truth.begin(), truth.end(), [](int u) { return u >= 0; })));
    std::printf("Where rock was seen (%zu stops): %.4f nats, %.1f %% right.\n",
                static_cast<std::size_t>(std::count_if(seen.begin(), seen.end(), [](int u) { return u >= 0; })),
                full_seen.loss, 100 * full_seen.accuracy);
    if (by_channel) {
        for (std::size_t c = 0; c < reckoning.channels.size(); ++c) {
            std::printf("weight %.3f  %s\n", reckoning.weights[c], reckoning.channels[c].name.c_str());
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 3) {
        std::fputs("usage: ablation SURVEY.json TRUTH.csv [--channels]\n", stderr);
        return 2;
    }
    try {
        run(argv[1], argv[2], argc > 3 && std::string(argv[3]) == "--channels");
    } catch (const Error& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 1;
    }
    return 0;
}
