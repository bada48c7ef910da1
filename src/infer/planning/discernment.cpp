#include "infer/planning/discernment.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

double Discernment::right_share() const { return (1 + std::sqrt(std::clamp(mean, 0.0, 1.0))) / 2; }

Discernments::Discernments(const model::Survey& survey, const Fit& fit)
    : units_(survey.units.size()), pairs_(units_ * units_) {
    constexpr std::size_t fewest_stops = 5;
    std::vector<double> likelihood(units_);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const model::UnitIndex seen = survey.stops[s].unit_seen,
                               own = seen != model::no_unit ? seen : fit.stops[s].mapped_unit;
        if (own == model::no_unit || !fit.reckoning->has_evidence(s)) continue;
        fit.reckoning->tempered_log_likelihood(s, likelihood);
        for (std::size_t u = 0; u < units_; ++u) {
            if (u == static_cast<std::size_t>(own)) continue;
            const double odds = likelihood[static_cast<std::size_t>(own)] - likelihood[u], t = std::tanh(odds / 2);
            const std::size_t a = std::min(u, static_cast<std::size_t>(own)),
                              b = std::max(u, static_cast<std::size_t>(own));
            Discernment& pair = pairs_[a * units_ + b];
            pair.mean += t * t;
            pair.right += odds > 0;
            ++pair.stops;
        }
    }
    Discernment all;
    for (const Discernment& pair : pairs_) {
        all.mean += pair.mean;
        all.stops += pair.stops;
    }
    const double pooled = all.stops > 0 ? all.mean / static_cast<double>(all.stops) : 0;
    for (std::size_t a = 0; a < units_; ++a) {
        for (std::size_t b = a + 1; b < units_; ++b) {
            Discernment& pair = pairs_[a * units_ + b];
            pair.mean = pair.stops < fewest_stops ? pooled : pair.mean / static_cast<double>(pair.stops);
            pairs_[b * units_ + a] = pair;
        }
    }
}

const Discernment& Discernments::between(model::UnitIndex a, model::UnitIndex b) const {
    return pairs_[static_cast<std::size_t>(a) * units_ + static_cast<std::size_t>(b)];
}

}  // namespace subcrop::infer
