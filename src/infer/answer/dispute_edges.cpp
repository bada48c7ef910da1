#include "infer/answer/dispute_edges.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

namespace {

/// A disputed area reaches contacts within this many of their standard errors, or within the width of the cluster.
constexpr double within_sd = 4;
/// A contact that is disputed along less of its length may just end at another place.
constexpr double min_share = 0.5;

}  // namespace

bool divides(const StopCluster& patch, model::UnitIndex a, model::UnitIndex b) {
    return std::minmax(a, b) == std::minmax(patch.drafted, patch.like);
}

bool reaches(const model::Survey& survey, const StopCluster& patch, Point place) {
    const double near_m = std::max(within_sd * survey.contact_sd_m, patch.radius_m);
    return std::any_of(patch.stops.begin(), patch.stops.end(),
                       [&](std::uint32_t s) { return distance(survey.stops[s].position, place) <= near_m; });
}

std::optional<std::size_t> dispute_of(const model::Survey& survey, const Fit& fit, const geo::Contact& contact) {
    for (std::size_t k = 0; k < fit.clusters.size(); ++k) {
        if (!divides(fit.clusters[k], contact.unit_a, contact.unit_b)) continue;
        double along_m = 0;
        for (std::size_t i = 1; i < contact.line.size(); ++i) {
            const Point from = contact.line[i - 1], to = contact.line[i];
            const double length = distance(from, to);
            const auto parts = static_cast<int>(std::ceil(length / survey.contact_sd_m));
            for (int p = 0; p < parts; ++p) {
                const double t = (p + 0.5) / parts;
                if (reaches(survey, fit.clusters[k], {std::lerp(from.x, to.x, t), std::lerp(from.y, to.y, t)}))
                    along_m += length / parts;
            }
        }
        if (along_m >= min_share * contact.length_m) return k;
    }
    return std::nullopt;
}

}  // namespace subcrop::infer
