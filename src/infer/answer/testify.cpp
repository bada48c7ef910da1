#include "infer/answer/testify.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <utility>

namespace subcrop::infer {

namespace {

constexpr std::size_t short_legend = 60;
constexpr std::size_t min_cluster = 3;
/// Disputed stops within this many mean distances between stops are one cluster.
constexpr double together_within = 2.5;

}  // namespace

std::vector<model::UnitIndex> units_told_apart(const model::Survey& survey, const geo::UnitMap& map) {
    std::vector<std::uint8_t> used(survey.units.size(), survey.units.size() <= short_legend);
    for (std::size_t u = 0; u < used.size(); ++u) used[u] = used[u] || map.unit_areas_m2()[u] > 0;
    for (const model::Stop& stop : survey.stops)
        if (stop.unit_seen != model::no_unit) used[static_cast<std::size_t>(stop.unit_seen)] = 1;
    std::vector<model::UnitIndex> units;
    for (std::size_t u = 0; u < used.size(); ++u)
        if (used[u]) units.push_back(static_cast<model::UnitIndex>(u));
    return units;
}

Testimony testify(const Fit::Reckoning& reckoning, const Training& training, const std::vector<StopFit>& fits,
                  std::span<const model::UnitIndex> units) {
    const model::Survey& survey = *reckoning.survey;
    Testimony t;
    t.units = units.size();
    std::vector<double> soil(reckoning.units()), bedrock(reckoning.units());
    const auto add = [&](const std::vector<double>& from, std::vector<float>& to) {
        for (const model::UnitIndex unit : units)
            to.push_back(static_cast<float>(from[static_cast<std::size_t>(unit)]));
    };
    for (std::size_t s = 0; s < fits.size(); ++s) {
        if (fits[s].mapped_unit == model::no_unit || !reckoning.has_evidence(s)) continue;
        const model::Stop& stop = survey.stops[s];
        t.stop.push_back(static_cast<std::uint32_t>(s));
        t.place.push_back(stop.position);
        t.position_sd_m.push_back(stop.position_sd_m);
        t.fold.push_back(training.fold_of_stop[s]);
        t.observed.push_back(stop.unit_seen != model::no_unit);
        const auto from = reckoning.soil_from(s);
        t.soil_from.emplace_back(from.begin(), from.end());
        reckoning.soil(s, soil);
        if (!from.empty() && stop.unit_seen == model::no_unit) {
            add(soil, t.soil);
            reckoning.soil_below(s, soil);
            add(soil, t.soil_below);
        } else {
            reckoning.soil_below(s, soil);
            add(soil, t.soil);
            add(soil, t.soil_below);
        }
        std::fill(bedrock.begin(), bedrock.end(), 0.0);
        reckoning.add_rock_seen(s, bedrock);
        add(bedrock, t.bedrock);
    }
    return t;
}

double prior_at(std::span<const double> membership, std::span<const double> shares, double error_share,
                std::span<double> prior) {
    double on_map = 0;
    for (const double share : membership) on_map += share;
    for (std::size_t u = 0; u < prior.size(); ++u) {
        const double draft = on_map > 1e-6 ? membership[u] / on_map : shares[u];
        prior[u] = (1 - error_share) * draft + error_share * shares[u];
    }
    return on_map;
}

double learn_own_share(const Fit::Reckoning& reckoning, double usual, const AnswerSettings& settings) {
    const std::size_t units = reckoning.units();
    const double error = reckoning.survey->settings.draft_error_share;
    std::vector<std::vector<double>> soils, priors;
    std::vector<std::size_t> stops, seen;
    std::vector<double> soil(units);
    for (std::size_t s = 0; s < reckoning.survey->stops.size(); ++s) {
        const model::UnitIndex unit = reckoning.survey->stops[s].unit_seen;
        if (unit == model::no_unit) continue;
        reckoning.soil(s, soil);
        stops.push_back(s);
        soils.push_back(soil);
        reckoning.prior_of(s, soil);
        priors.push_back(soil);
        seen.push_back(static_cast<std::size_t>(unit));
    }
    if (seen.size() < settings.own_soil_observed) return usual;
    double best = usual, least = 1e300;
    for (double share = 1; share > settings.own_soil_least - 1e-9; share -= 0.05) {
        const double off = (share - usual) / settings.own_soil_share_sd;
        double loss = 0.5 * off * off;
        for (std::size_t i = 0; i < seen.size(); ++i) {
            for (std::size_t u = 0; u < units; ++u) soil[u] = share * soils[i][u];
            likelihood_below(reckoning.origins.of(stops[i]), reckoning.separation, reckoning.ground, error, soil);
            const double greatest = *std::max_element(soil.begin(), soil.end());
            double sum = 0, right = 0;
            for (std::size_t u = 0; u < units; ++u) {
                const double p = priors[i][u] * std::exp(soil[u] - greatest);
                sum += p;
                if (u == seen[i]) right = p;
            }
            loss -= std::log(std::max(right / std::max(sum, 1e-300), 1e-4));  // a single mistake must not decide
        }
        if (loss < least) {
            least = loss;
            best = share;
        }
    }
    return best;
}

std::vector<StopCluster> find_disputes(const Fit::Reckoning& reckoning, const Testimony& testimony,
                                       const Reckoned& reckoned, std::vector<StopFit>& fits) {
    std::vector<StopCluster> clusters;
    if (reckoned.as_moved.empty()) return clusters;
    const std::size_t units = testimony.units;
    std::vector<double> likelihood(reckoning.units());
    struct Disputed {
        std::uint32_t stop;
        Point place;
    };
    std::map<std::pair<model::UnitIndex, model::UnitIndex>, std::vector<Disputed>> disputed;
    for (std::size_t i = 0; i < testimony.size(); ++i) {
        const std::uint32_t s = testimony.stop[i];
        reckoning.soil_below(s, likelihood);
        reckoning.add_rock_seen(s, likelihood);
        const double greatest = *std::max_element(likelihood.begin(), likelihood.end());
        const float as_moved = reckoned.as_moved[i];
        double moved = 0, all = 0, best_like = -1;
        std::size_t drafted = 0, like = 0;
        for (std::size_t k = 0; k < units; ++k) {
            const double c = std::exp(likelihood[static_cast<std::size_t>(reckoned.state->units[k])] - greatest);
            const auto by_draft = static_cast<double>(as_moved * reckoned.moved[i * units + k]);
            const double by_area = static_cast<double>(reckoned.areas[i * units + k]) * c;
            moved += by_draft * c;
            all += by_draft * c + by_area;
            if (reckoned.moved[i * units + k] > reckoned.moved[i * units + drafted]) drafted = k;
            if (by_area > best_like) {
                best_like = by_area;
                like = k;
            }
        }
        fits[s].p_disputed = all > 0 ? std::clamp(1 - moved / all, 0.0, 1.0) : 0;
        if (fits[s].p_disputed > 0.5 && drafted != like)
            disputed[{reckoned.state->units[drafted], reckoned.state->units[like]}].push_back({s, testimony.place[i]});
    }
    const double together_m = together_within * reckoned.state->stop_distance_m;
    for (const auto& same : disputed) {
        const std::vector<Disputed>& members = same.second;
        std::vector<std::uint8_t> taken(members.size(), 0);
        for (std::size_t first = 0; first < members.size(); ++first) {
            if (taken[first]) continue;
            std::vector<std::size_t> group{first};
            taken[first] = 1;
            for (std::size_t g = 0; g < group.size(); ++g) {
                for (std::size_t other = 0; other < members.size(); ++other) {
                    if (taken[other] || distance(members[group[g]].place, members[other].place) > together_m) continue;
                    taken[other] = 1;
                    group.push_back(other);
                }
            }
            if (group.size() < min_cluster) continue;
            StopCluster cluster;
            cluster.drafted = same.first.first;
            cluster.like = same.first.second;
            Point middle;
            for (const std::size_t g : group) {
                middle.x += members[g].place.x / static_cast<double>(group.size());
                middle.y += members[g].place.y / static_cast<double>(group.size());
                cluster.probability = std::max(cluster.probability, fits[members[g].stop].p_disputed);
            }
            std::sort(group.begin(), group.end(), [&](std::size_t a, std::size_t b) {
                return std::pair(distance(members[a].place, middle), members[a].stop) <
                       std::pair(distance(members[b].place, middle), members[b].stop);
            });
            for (const std::size_t g : group) {
                cluster.stops.push_back(members[g].stop);
                cluster.radius_m = std::max(cluster.radius_m, distance(members[g].place, members[group.front()].place));
            }
            clusters.push_back(std::move(cluster));
        }
    }
    std::stable_sort(clusters.begin(), clusters.end(), [](const StopCluster& a, const StopCluster& b) {
        return a.probability != b.probability ? a.probability > b.probability : a.stops.front() < b.stops.front();
    });
    return clusters;
}

}  // namespace subcrop::infer
