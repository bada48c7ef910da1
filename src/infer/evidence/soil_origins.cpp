#include "infer/evidence/soil_origins.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace subcrop::infer {

SoilOrigins::SoilOrigins(std::span<const std::vector<Origin>> origins) {
    first_.reserve(origins.size() + 1);
    first_.push_back(0);
    for (const std::vector<Origin>& of_stop : origins) {
        origins_.insert(origins_.end(), of_stop.begin(), of_stop.end());
        first_.push_back(static_cast<std::uint32_t>(origins_.size()));
    }
}

std::vector<Origin> all_origins(const geo::UnitMap& map, Point place, std::span<const Point> sources, Point shift,
                                double sd_m) {
    assert(sources.size() == geo::soil_parts);
    std::array<Point, 1 + geo::soil_parts> places{Point{place.x + shift.x, place.y + shift.y}};
    for (std::size_t i = 0; i < sources.size(); ++i) places[i + 1] = {sources[i].x + shift.x, sources[i].y + shift.y};
    std::vector<Origin> result;
    for (const geo::JointUnits& joint : map.joint_membership(places, sd_m)) {
        if (joint.units.front() == model::no_unit) continue;
        Origin origin;
        origin.below = joint.units.front();
        for (std::size_t i = 0; i < origin.sources.size(); ++i) {
            const model::UnitIndex source = joint.units[i + 1];
            origin.sources[i] = source == model::no_unit ? origin.below : source;
        }
        std::sort(origin.sources.begin(), origin.sources.end());
        const auto same = std::find_if(result.begin(), result.end(), [&](const Origin& o) {
            return o.below == origin.below && o.sources == origin.sources;
        });
        origin.share = static_cast<float>(joint.share);
        if (same == result.end())
            result.push_back(origin);
        else
            same->share += origin.share;
    }
    return result;
}

bool from_another_unit(std::span<const Origin> origins) {
    return std::any_of(origins.begin(), origins.end(), [](const Origin& o) {
        return o.share > 1e-4f && (o.sources.front() != o.below || o.sources.back() != o.below);
    });
}

std::vector<Origin> joint_origins(const geo::UnitMap& map, Point place, std::span<const Point> sources, Point shift,
                                  double sd_m) {
    std::vector<Origin> origins = all_origins(map, place, sources, shift, sd_m);
    if (!from_another_unit(origins)) origins.clear();
    return origins;
}

double log_blend(const Origin& origin, const Separation& separation, std::span<const double> log_likelihood) {
    double blend = separation.log_scale(origin.sources);
    for (const model::UnitIndex source : origin.sources) {
        blend += log_likelihood[static_cast<std::size_t>(source)] / static_cast<double>(origin.sources.size());
    }
    return blend;
}

void likelihood_below(std::span<const Origin> origins, const Separation& separation, std::span<const double> ground,
                      double error, std::span<double> log_likelihood) {
    if (origins.empty()) return;
    assert(ground.size() == log_likelihood.size());
    const double greatest = *std::max_element(log_likelihood.begin(), log_likelihood.end());
    std::vector<double> joint(log_likelihood.size(), 0.0), prior(log_likelihood.size(), 0.0);
    for (std::size_t k = 0; k < joint.size(); ++k) {
        prior[k] = std::max(error * ground[k], 1e-12);  // a unit without area on the draft keeps its own soil
        joint[k] = prior[k] * std::exp(log_likelihood[k] - greatest);
    }
    for (const Origin& origin : origins) {
        const double blend = log_blend(origin, separation, log_likelihood) - greatest;
        const double share = (1 - error) * static_cast<double>(origin.share);
        prior[static_cast<std::size_t>(origin.below)] += share;
        joint[static_cast<std::size_t>(origin.below)] += share * std::exp(blend);
    }
    for (std::size_t k = 0; k < joint.size(); ++k) {
        log_likelihood[k] = greatest + std::log(std::max(joint[k] / prior[k], 1e-300));
    }
}

}  // namespace subcrop::infer
