#include "infer/answer/calibration.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace subcrop::infer {

std::vector<CalibrationBin> calibration(const Fit::Reckoning& r) {
    constexpr std::array<double, 6> edges{0, 0.5, 0.7, 0.85, 0.95, 1};
    std::vector<CalibrationBin> bins;
    for (std::size_t i = 1; i < edges.size(); ++i) bins.push_back({.low = edges[i - 1], .high = edges[i]});
    std::vector<double> p(r.units());
    for (std::size_t s = 0; s < r.survey->stops.size(); ++s) {
        const model::UnitIndex seen = r.survey->stops[s].unit_seen;
        const bool heard =
            std::any_of(r.signatures.begin(), r.signatures.end(), [&](const Signature& one) { return one.speaks(s); });
        if (seen == model::no_unit || !heard) continue;
        r.soil(s, p);
        for (std::size_t u = 0; u < p.size(); ++u) p[u] += r.log_shares[u];
        const auto best = std::max_element(p.begin(), p.end());
        double sum = 0;
        for (const double x : p) sum += std::exp(x - *best);
        const double probability = 1 / sum;
        const auto bin =
            std::find_if(bins.begin(), bins.end() - 1, [&](const CalibrationBin& b) { return probability < b.high; });
        ++bin->stops;
        bin->mean_p += probability;
        bin->right += best - p.begin() == seen;
    }
    for (CalibrationBin& bin : bins)
        if (bin.stops > 0) bin.mean_p /= static_cast<double>(bin.stops);
    return bins;
}

}  // namespace subcrop::infer
