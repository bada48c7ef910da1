#include "infer/contacts/crossing_place.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "infer/statistics/normal.hpp"

namespace subcrop::infer {

namespace {

/// Integral of the standard normal distribution function up to z.
double integrated_normal(double z) { return z * normal_cdf(z) + normal_density(z); }

/// Share of a gap's probability that lies before x: a uniform distribution blurred by a Gaussian.
double share_before(const GapMass& gap, double x) {
    const double length = std::max(gap.to_m - gap.from_m, 1e-6), sd = gap.position_sd_m;
    if (sd < 1e-6 * length) return std::clamp((x - gap.from_m) / length, 0.0, 1.0);
    // beyond eight standard errors of both ends nothing is left to integrate
    if (x < gap.from_m - 8 * sd) return 0;
    if (x > gap.to_m + 8 * sd) return 1;
    return sd / length * (integrated_normal((x - gap.from_m) / sd) - integrated_normal((x - gap.from_m - length) / sd));
}

}  // namespace

CrossingPlace place_crossing(std::span<const GapMass> gaps) {
    double total = 0;
    double first = std::numeric_limits<double>::infinity(), last = -first;
    for (const GapMass& gap : gaps) {
        total += gap.mass;
        first = std::min(first, gap.from_m - 8 * gap.position_sd_m);
        last = std::max(last, gap.to_m + 8 * gap.position_sd_m);
    }
    assert(total > 0);
    const auto quantile = [&](double p) {
        double low = first, high = last;
        while (high - low > 0.01) {
            const double middle = 0.5 * (low + high);
            double before = 0;
            for (const GapMass& gap : gaps) before += gap.mass * share_before(gap, middle);
            (before < p * total ? low : high) = middle;
        }
        return 0.5 * (low + high);
    };
    return {quantile(0.5), quantile(0.05), quantile(0.95)};
}

}  // namespace subcrop::infer
