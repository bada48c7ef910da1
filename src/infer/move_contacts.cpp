#include "move_contacts.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/parallel.hpp"
#include "subcrop/geo/unit_raster.hpp"

namespace subcrop::infer {

namespace {

/// Stops beyond this many tell the field nothing more; every n-th is asked.
constexpr std::size_t most_witnesses = 2000;

/// Slope of a stop's ln likelihood in the displacement, by differences over a tenth of the amplitude. `soil_from`:
/// empty for evidence of the stop's own place.
Point evidence_slope(const geo::UnitMap& map, const Separation& separation, Point place,
                     std::span<const Point> soil_from, Point u, double sd, std::span<const double> likelihood,
                     double pooled, double error, double step, std::vector<double>& shares) {
    std::vector<double> log_likelihood;
    for (const double density : likelihood) log_likelihood.push_back(std::log(std::max(density, 1e-300)));
    auto value = [&](double dx, double dy) {
        const Point shift{u.x + dx, u.y + dy};
        double sum = 0, on_map = 0;
        if (soil_from.empty()) {
            std::fill(shares.begin(), shares.end(), 0.0);
            map.membership({place.x + shift.x, place.y + shift.y}, sd, shares);
            for (std::size_t v = 0; v < shares.size(); ++v) {
                sum += shares[v] * likelihood[v];
                on_map += shares[v];
            }
        } else {
            for (const Origin& origin : all_origins(map, place, soil_from, shift, sd)) {
                sum += static_cast<double>(origin.share) * std::exp(log_blend(origin, separation, log_likelihood));
                on_map += static_cast<double>(origin.share);
            }
        }
        return std::log((1 - error) * (sum + (1 - on_map) * pooled) + error * pooled);
    };
    return {(value(step, 0) - value(-step, 0)) / (2 * step), (value(0, step) - value(0, -step)) / (2 * step)};
}

/// Places up the slope from which a stop's evidence comes; empty: its own, also where rock was seen.
std::span<const Point> evidence_from(const Fit::Reckoning& reckoning, std::size_t stop) {
    if (reckoning.survey->stops[stop].unit_seen != model::no_unit) return {};
    return reckoning.soil_from(stop);
}

/// Appends the soil's origins, their shares taken by `part`; none is left without a share.
void add_origins(const std::vector<Origin>& some, double part, std::vector<Origin>& all) {
    for (Origin origin : some) {
        origin.share *= static_cast<float>(part);
        if (origin.share > 0) all.push_back(origin);
    }
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
        const std::span<const Point> from = evidence_from(reckoning, s);
        witnesses.list.push_back({survey.stops[s].position,
                                  survey.stops[s].position_sd_m,
                                  {likelihood.begin(), likelihood.end()},
                                  true,
                                  {}});
        witnesses.list.back().soil_from.assign(from.begin(), from.end());
        witnesses.seen.push_back(survey.stops[s].unit_seen);
        witnesses.folds.push_back(training.fold_of_stop[s]);
        witnesses.taught[s] = 1;
    }
    return witnesses;
}

ShiftChoice choose_shift(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const Witnesses& witnesses,
                         std::span<const geo::ContactTrace> traces, const std::vector<double>& ground,
                         unsigned threads) {
    const model::Survey& survey = *reckoning.survey;
    Box extent;
    for (const Witness& witness : witnesses.list) extent.add(witness.place);
    ShiftChoiceOptions options;
    options.contact_sd_m = survey.contact_sd_m;
    options.extent_m = std::max({extent.width(), extent.height(), 1.0});
    options.error_share = survey.settings.draft_error_share;
    options.ground = ground;
    options.separation = reckoning.separation;
    options.traces = traces;
    const geo::UnitRaster raster(map, 0.2 * survey.contact_sd_m, 10 * survey.contact_sd_m, threads);
    ShiftChoice choice = choose_shift(witnesses.list, witnesses.folds, raster, options, threads);
    const bool rock = std::any_of(witnesses.seen.begin(), witnesses.seen.end(),
                                  [](model::UnitIndex unit) { return unit != model::no_unit; });
    choice.decided_by = rock ? "soil and rock seen" : "soil";
    return choice;
}

Placement moved_placement(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const ShiftField& field,
                          const std::vector<double>& ground, const std::vector<std::uint8_t>& taught, const Placement& at_rest,
                          unsigned threads) {
    Placement moved;
    moved.membership = at_rest.membership;
    const model::Survey& survey = *reckoning.survey;
    const std::size_t units = reckoning.units();
    std::vector<std::vector<Origin>> origins(reckoning.creep != nullptr ? survey.stops.size() : 0);
    parallel_blocks(survey.stops.size(), 512, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> shares(units), likelihood(units);
        for (std::size_t s = begin; s < end; ++s) {
            const model::Stop& stop = survey.stops[s];
            if (!origins.empty()) {
                const auto before = at_rest.origins.of(s);
                origins[s].assign(before.begin(), before.end());
            }
            // As far as the field is not trusted here the draft stands, and the membership with it.
            auto [u, k, trust] = field.at(stop.position);
            if (trust <= 0) continue;
            const double residual = std::hypot(stop.position_sd_m, field.residual_m());
            if (taught[s]) {
                reckoning.witness_log_likelihood(s, likelihood);
                double pooled = 0;
                for (std::size_t v = 0; v < units; ++v) pooled += ground[v] * (likelihood[v] = std::exp(likelihood[v]));
                const Point slope = evidence_slope(
                    map, reckoning.separation, stop.position, evidence_from(reckoning, s), u, residual, likelihood,
                    pooled, survey.settings.draft_error_share, 0.1 * field.amplitude_m(), shares);
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
            for (std::size_t v = 0; v < units; ++v) {
                float& share = moved.membership[s * units + v];
                share = static_cast<float>(trust * shares[v] + (1 - trust) * static_cast<double>(share));
            }
            const std::span<const Point> sources = reckoning.soil_from(s);
            if (sources.empty()) continue;
            const double sd_at_rest = std::hypot(stop.position_sd_m, survey.contact_sd_m);
            const std::vector<Origin> once_moved = all_origins(map, stop.position, sources, u, sd);
            if (origins[s].empty() && !from_another_unit(once_moved)) continue;
            origins[s].clear();
            add_origins(once_moved, trust, origins[s]);
            add_origins(all_origins(map, stop.position, sources, {}, sd_at_rest), 1 - trust, origins[s]);
        }
    });
    if (!origins.empty()) moved.origins = SoilOrigins(origins);
    return moved;
}

}  // namespace subcrop::infer
