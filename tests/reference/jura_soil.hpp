// The Jura soil survey judged from soil alone: learn from the 259 stops of known rock, judge the 100 others.
// Source of the data: scripts/get_open_data.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "subcrop/infer/blocks.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/indicator_kriging.hpp"
#include "subcrop/infer/signature.hpp"
#include "subcrop/infer/weights.hpp"
#include "subcrop/io/survey_reader.hpp"
#include "subcrop/model/reduced.hpp"

namespace subcrop::reference {

struct JuraResult {
    std::size_t learnt_from = 0;
    std::size_t judged = 0;
    double log_loss = 0;  ///< nats a judged stop
    double accuracy = 0;
    std::vector<std::string> channels;
    std::vector<double> weights;
    std::vector<double> bandwidths;
    std::size_t problems = 0;
    /// Of the stops that were learnt from.
    std::vector<infer::SeenRock> seen;
    /// A judged stop: where, its true unit, and what its soil says of each unit, ln.
    struct Judged {
        Point place;
        std::size_t own = 0;
        std::vector<double> soil;
    };
    std::vector<Judged> stops;
};

/// Rock of each stop: stop,part,unit,... in truth.csv.
inline std::map<std::string, std::string> read_jura_truth(const std::filesystem::path& folder) {
    std::ifstream file(folder / "truth.csv");
    std::map<std::string, std::string> truth;
    std::string line;
    std::getline(file, line);
    while (std::getline(file, line)) {
        std::istringstream fields(line);
        std::string stop, part, unit;
        std::getline(fields, stop, ',');
        std::getline(fields, part, ',');
        std::getline(fields, unit, ',');
        truth[stop] = unit;
    }
    return truth;
}

inline JuraResult judge_jura(const std::filesystem::path& folder) {
    ProblemLog problems;
    Progress silent;
    const model::Survey survey = io::read_survey(io::read_survey_file(folder / "survey.json"), 0, problems, silent);
    const model::Reduced reduced = model::reduce(survey, problems);
    const std::map<std::string, std::string> truth = read_jura_truth(folder);

    std::vector<Point> teaching;
    for (const auto& stop : survey.stops) {
        if (stop.unit_seen != model::no_unit) teaching.push_back(stop.position);
    }
    const infer::Blocks blocks = infer::divide_into_blocks(teaching, 0, 4 * survey.contact_sd_m);
    infer::Training training;
    training.units = survey.units.size();
    training.folds = blocks.folds;
    training.shares.assign(training.units, 1.0);
    infer::Judges judges;
    std::size_t taught = 0;
    for (const auto& stop : survey.stops) {
        judges.push_back(stop.unit_seen);
        const bool teaches = stop.unit_seen != model::no_unit;
        training.fold_of_stop.push_back(teaches ? blocks.fold_of_stop[taught++] : blocks.folds);
        for (std::size_t u = 0; u < training.units; ++u) {
            const float r = teaches && static_cast<std::size_t>(stop.unit_seen) == u ? 1.0f : 0.0f;
            training.responsibility.push_back(r);
            training.shares[u] += static_cast<double>(r);
        }
    }
    std::vector<double> log_shares;
    for (double& share : training.shares) {
        share /= static_cast<double>(taught + training.units);
        log_shares.push_back(std::log(share));
    }

    JuraResult result;
    std::vector<infer::Signature> signatures;
    const std::vector<infer::Channel> channels = infer::build_channels(survey, reduced);
    for (const infer::Channel& channel : channels) {
        signatures.push_back(infer::learn_signature(channel, training, judges, 0));
        result.channels.push_back(channel.name);
        result.bandwidths.push_back(signatures.back().bandwidth);
    }
    result.weights = infer::learn_weights(signatures, judges, training.fold_of_stop, log_shares).weights;

    for (const auto& stop : survey.stops)
        if (stop.unit_seen != model::no_unit) result.seen.push_back({stop.position, stop.unit_seen});
    result.learnt_from = taught;
    result.problems = problems.size();
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        if (survey.stops[s].unit_seen != model::no_unit) continue;
        std::vector<double> p = log_shares, soil(training.units, 0.0);
        for (std::size_t c = 0; c < signatures.size(); ++c) {
            if (!signatures[c].speaks(s)) continue;
            for (std::size_t u = 0; u < p.size(); ++u) {
                const double says = result.weights[c] * static_cast<double>(signatures[c].row(s)[u]);
                p[u] += says;
                soil[u] += says;
            }
        }
        const auto likeliest = static_cast<std::size_t>(std::max_element(p.begin(), p.end()) - p.begin());
        const double greatest = p[likeliest];
        double sum = 0;
        for (const double x : p) sum += std::exp(x - greatest);
        const std::string& rock = truth.at(survey.stops[s].id);
        std::size_t own = 0;
        while (survey.units.at(own).code != rock) ++own;
        result.log_loss += greatest + std::log(sum) - p[own];
        result.accuracy += likeliest == own ? 1 : 0;
        result.stops.push_back({survey.stops[s].position, own, std::move(soil)});
        ++result.judged;
    }
    result.log_loss /= static_cast<double>(result.judged);
    result.accuracy /= static_cast<double>(result.judged);
    return result;
}

struct NoDraftResult {
    infer::Variogram model;
    double accuracy = 0, log_loss = 0;                  ///< prior from the rock seen, times the soil
    double kriging_accuracy = 0, kriging_log_loss = 0;  ///< the prior alone
};

/// The judged stops from place and soil, without a map: kriged rock of the others times their own soil.
inline NoDraftResult judge_jura_without_draft(const JuraResult& jura, double soil_counts) {
    Box extent;
    for (const infer::SeenRock& rock : jura.seen) extent.add(rock.place);
    const std::size_t units = jura.stops.at(0).soil.size();
    NoDraftResult result;
    const double cutoff_m = std::hypot(extent.width(), extent.height()) / 3;
    result.model = infer::fit_variogram(infer::unit_variogram(jura.seen, cutoff_m, 15));
    const infer::IndicatorKriging kriging(jura.seen, units, result.model);
    std::vector<double> prior(units), p(units);
    for (const JuraResult::Judged& stop : jura.stops) {
        kriging.probabilities(stop.place, prior);
        double prior_sum = 0, sum = 0;
        for (std::size_t u = 0; u < units; ++u) {
            prior[u] = 0.95 * prior[u] + 0.05 * kriging.shares()[u];  // as the draft's share of single errors
            p[u] = prior[u] * std::exp(soil_counts * stop.soil[u]);
            prior_sum += prior[u];
            sum += p[u];
        }
        const auto best = [](const std::vector<double>& q) {
            return static_cast<std::size_t>(std::max_element(q.begin(), q.end()) - q.begin());
        };
        result.accuracy += best(p) == stop.own;
        result.kriging_accuracy += best(prior) == stop.own;
        result.log_loss -= std::log(p[stop.own] / sum);
        result.kriging_log_loss -= std::log(prior[stop.own] / prior_sum);
    }
    for (double* figure : {&result.accuracy, &result.log_loss, &result.kriging_accuracy, &result.kriging_log_loss})
        *figure /= static_cast<double>(jura.stops.size());
    return result;
}

}  // namespace subcrop::reference
