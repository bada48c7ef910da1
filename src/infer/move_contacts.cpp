#include "move_contacts.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/parallel.hpp"
#include "subcrop/geo/unit_raster.hpp"

namespace subcrop::infer {

namespace {

/// Stops beyond this many tell the field nothing more; every n-th is asked.
constexpr std::size_t most_witnesses = 2000;

/// Slope of a stop's ln likelihood in the displacement, by differences over a tenth of the amplitude.
Point evidence_slope(const geo::UnitMap& map, Point drafted, double sd, std::span<const double> likelihood,
                     double pooled, double error, double step, std::vector<double>& shares) {
    auto value = [&](double dx, double dy) {
        std::fill(shares.begin(), shares.end(), 0.0);
        map.membership({drafted.x + dx, drafted.y + dy}, sd, shares);
        double sum = 0, on_map = 0;
        for (std::size_t u = 0; u < shares.size(); ++u) {
            sum += shares[u] * likelihood[u];
            on_map += shares[u];
        }
        return std::log((1 - error) * (sum + (1 - on_map) * pooled) + error * pooled);
    };
    return {(value(step, 0) - value(-step, 0)) / (2 * step), (value(0, step) - value(0, -step)) / (2 * step)};
}

}  // namespace

Witnesses call_witnesses(const Fit::Reckoning& reckoning, const Training& training, const std::vector<StopFit>& fits) {
    const model::Survey& survey = *reckoning.survey;
    Witnesses witnesses;
    witnesses.taught.assign(fits.size(), 0);
    std::size_t speaking = 0;
    for (std::size_t s = 0; s < fits.size(); ++s) speaking += fits[s].mapped_unit != model::no_unit && reckoning.has_evidence(s);
    const std::size_t stride = std::max<std::size_t>(1, (speaking + most_witnesses - 1) / most_witnesses);
    std::vector<double> likelihood(reckoning.units());
    std::size_t number = 0;
    for (std::size_t s = 0; s < fits.size(); ++s) {
        if (fits[s].mapped_unit == model::no_unit || !reckoning.has_evidence(s) || number++ % stride != 0) continue;
        reckoning.witness_log_likelihood(s, likelihood);
        witnesses.list.push_back({survey.stops[s].position, survey.stops[s].position_sd_m,
                                  {likelihood.begin(), likelihood.end()}, true});
        witnesses.seen.push_back(survey.stops[s].unit_seen);
        witnesses.folds.push_back(training.fold_of_stop[s]);
        witnesses.taught[s] = 1;
    }
    return witnesses;
}

ShiftChoice choose_shift(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const Witnesses& witnesses,
                         const std::vector<double>& ground, unsigned threads) {
    const model::Survey& survey = *reckoning.survey;
    Box extent;
    for (const Witness& witness : witnesses.list) extent.add(witness.place);
    ShiftChoiceOptions options;
    options.contact_sd_m = survey.contact_sd_m;
    options.extent_m = std::max({extent.width(), extent.height(), 1.0});
    options.error_share = survey.settings.draft_error_share;
    options.ground = ground;
    const geo::UnitRaster raster(map, 0.2 * survey.contact_sd_m, 10 * survey.contact_sd_m, threads);
    return choose_shift(witnesses.list, witnesses.seen, witnesses.folds, raster, options, threads);
}

void move_membership(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const ShiftField& field,
                     const std::vector<double>& ground, const std::vector<std::uint8_t>& taught,
                     std::vector<float>& membership, unsigned threads) {
    const model::Survey& survey = *reckoning.survey;
    const std::size_t units = reckoning.units();
    parallel_blocks(survey.stops.size(), 512, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> shares(units), likelihood(units);
        for (std::size_t s = begin; s < end; ++s) {
            const model::Stop& stop = survey.stops[s];
            Point u = field.displacement(stop.position);
            auto k = field.covariance(stop.position);
            const double residual = std::hypot(stop.position_sd_m, field.residual_m());
            if (taught[s]) {
                reckoning.witness_log_likelihood(s, likelihood);
                double pooled = 0;
                for (std::size_t v = 0; v < units; ++v) pooled += ground[v] * (likelihood[v] = std::exp(likelihood[v]));
                const Point slope = evidence_slope(map, {stop.position.x + u.x, stop.position.y + u.y}, residual, likelihood, pooled,
                                                   survey.settings.draft_error_share, 0.1 * field.amplitude_m(), shares);
                const Point ks{k[0] * slope.x + k[1] * slope.y, k[1] * slope.x + k[2] * slope.y};
                const double left = std::max(0.2, 1 - (slope.x * ks.x + slope.y * ks.y));
                u.x -= ks.x / left;
                u.y -= ks.y / left;
                k[0] += ks.x * ks.x / left;
                k[2] += ks.y * ks.y / left;
            }
            const double sd = std::hypot(residual, std::sqrt(std::max(0.0, (k[0] + k[2]) / 2)));
            std::fill(shares.begin(), shares.end(), 0.0);
            map.membership({stop.position.x + u.x, stop.position.y + u.y}, sd, shares);
            for (std::size_t v = 0; v < units; ++v) membership[s * units + v] = static_cast<float>(shares[v]);
        }
    });
}

}  // namespace subcrop::infer
