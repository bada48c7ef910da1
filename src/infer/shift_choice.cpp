#include "subcrop/infer/shift_choice.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

constexpr std::size_t held_out_groups = 10;

/// Score of every witness, held out, under one amplitude and mixture of reaches.
using Scores = std::vector<double>;

/// `rest`: the scores with the draft at rest, which stand for as much as the field is not trusted.
Scores held_out_scores(std::span<const Witness> witnesses, const EvidenceSurfaces& surfaces, const Scores& rest,
                       const ShiftFieldOptions& options, std::span<const std::uint16_t> group, unsigned threads) {
    Scores scores(witnesses.size(), 0.0);
    parallel_blocks(held_out_groups, 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t g = begin; g < end; ++g) {
            std::vector<std::uint8_t> learns(witnesses.size());
            bool any = false;
            for (std::size_t i = 0; i < witnesses.size(); ++i) {
                learns[i] = group[i] != g;
                any = any || !learns[i];
            }
            if (!any) continue;
            const ShiftField field = fit_shift_field(witnesses, surfaces, options, learns);
            for (std::size_t i = 0; i < witnesses.size(); ++i) {
                if (learns[i]) continue;
                const auto [u, c, trust] = field.at(witnesses[i].place);
                const double sd_m = std::sqrt(std::max(0.0, (c[0] + c[2]) / 2));
                const double moved = surfaces.value(i, u, std::hypot(options.residual_m, sd_m));
                scores[i] = std::log((1 - trust) * std::exp(rest[i]) + trust * std::exp(moved));
            }
        }
    });
    return scores;
}

/// The draft as it stands, with the blur of its contacts that suits the witnesses best.
Scores scores_at_rest(std::span<const Witness> witnesses, const std::vector<EvidenceSurfaces>& surfaces,
                      const ShiftChoiceOptions& options) {
    Scores best;
    double best_sum = 0;
    for (const double blur : {0.3, 0.5, 1.0, 1.6}) {
        // the surface whose blurs hold one nearest to this
        const EvidenceSurfaces& surface = surfaces[blur < 0.4 ? 0 : blur < 0.7 ? 1 : surfaces.size() - 1];
        Scores scores(witnesses.size());
        double sum = 0;
        for (std::size_t i = 0; i < witnesses.size(); ++i) {
            scores[i] = surface.value(i, {}, blur * options.contact_sd_m);
            sum += scores[i];
        }
        if (best.empty() || sum > best_sum) {
            best = std::move(scores);
            best_sum = sum;
        }
    }
    return best;
}

/// Gain of one over the other and its standard error, by blocks.
std::pair<double, double> gain_over(const Scores& moved, const Scores& rest, std::span<const std::uint16_t> block) {
    const std::size_t blocks = block.empty() ? 0 : *std::max_element(block.begin(), block.end()) + std::size_t{1};
    std::vector<double> sums(blocks, 0.0);
    std::vector<std::uint8_t> used(blocks, 0);
    for (std::size_t i = 0; i < moved.size(); ++i) {
        sums[block[i]] += moved[i] - rest[i];
        used[block[i]] = 1;
    }
    double total = 0, squares = 0, n = 0;
    for (std::size_t b = 0; b < blocks; ++b) {
        if (!used[b]) continue;
        total += sums[b];
        squares += sums[b] * sums[b];
        n += 1;
    }
    if (n < 2) return {total, 1e300};
    const double variance = (squares - total * total / n) * n / (n - 1);
    return {total, std::sqrt(std::max(variance, 1e-12))};
}

/// Of the trials that held-out ground does not tell from the most probable one, within a standard error of the difference by blocks,
/// the one nearest what the draft's stated error lets expect.
std::size_t most_probable(const std::vector<ShiftTrial>& trials, const std::vector<Scores>& scores,
                          std::span<const std::uint16_t> block, const ShiftChoiceOptions& options) {
    auto log_prior = [&](std::size_t t) {
        const double off = std::log(trials[t].amplitude_m / (options.usual_amplitude * options.contact_sd_m)) / options.log_amplitude_sd;
        return -0.5 * off * off;
    };
    auto log_posterior = [&](std::size_t t) { return trials[t].total() + log_prior(t); };
    std::size_t best = 0;
    for (std::size_t t = 1; t < trials.size(); ++t)
        if (log_posterior(t) > log_posterior(best)) best = t;
    std::size_t chosen = best;
    for (std::size_t t = 0; t < trials.size(); ++t) {
        const auto [lead, error] = gain_over(scores[best], scores[t], block);
        if (lead + trials[best].trace_gain - trials[t].trace_gain > error) continue;
        if (std::pair(log_prior(t), log_posterior(t)) > std::pair(log_prior(chosen), log_posterior(chosen))) chosen = t;
    }
    return chosen;
}

}  // namespace

ShiftChoice choose_shift(std::span<const Witness> witnesses, std::span<const std::uint16_t> fold_of_witness,
                         const geo::UnitRaster& raster, const ShiftChoiceOptions& options, unsigned threads) {
    ShiftChoice choice;
    if (witnesses.size() < 20) return choice;
    std::vector<std::uint16_t> group;
    for (const std::uint16_t fold : fold_of_witness) group.push_back(static_cast<std::uint16_t>(fold % held_out_groups));

    ShiftFieldOptions field_options;
    field_options.error_share = options.error_share;
    field_options.ground = options.ground;
    field_options.separation = options.separation;
    field_options.traces = options.traces;
    field_options.residual_m = options.residual * options.contact_sd_m;
    std::vector<EvidenceSurfaces> surfaces;
    for (const double amplitude : options.amplitudes) {
        field_options.amplitude_m = amplitude * options.contact_sd_m;
        surfaces.emplace_back(witnesses, raster, field_options, threads);
    }
    const Scores rest = scores_at_rest(witnesses, surfaces, options);

    field_options.reach_m = options.reach * options.extent_m;
    bool beats_rest = false;
    std::vector<Scores> scores;
    for (std::size_t a = 0; a < options.amplitudes.size(); ++a) {
        for (const double longer_share : options.longer_shares) {
            field_options.amplitude_m = options.amplitudes[a] * options.contact_sd_m;
            field_options.longer_share = longer_share;
            scores.push_back(held_out_scores(witnesses, surfaces[a], rest, field_options, group, threads));
            const auto [gain, error] = gain_over(scores.back(), rest, fold_of_witness);
            choice.trials.push_back({field_options.amplitude_m, field_options.reach_m, longer_share, gain, error,
                                     trace_evidence(witnesses, field_options)});
            beats_rest = beats_rest || choice.trials.back().total() > std::max(options.gain_needed * error, options.least_gain);
        }
    }
    const std::size_t best = most_probable(choice.trials, scores, fold_of_witness, options);
    const EvidenceSurfaces& best_surfaces = surfaces[best / options.longer_shares.size()];
    field_options.amplitude_m = choice.trials[best].amplitude_m;
    field_options.longer_share = choice.trials[best].longer_share;
    if (!options.traces.empty()) {
        // Beds measured wrongly would pull contacts off what the stops held out say: such are refused.
        field_options.traces = {};
        const Scores without = held_out_scores(witnesses, best_surfaces, rest, field_options, group, threads);
        const auto [lost, lost_error] = gain_over(without, rest, fold_of_witness);
        if (lost - choice.trials[best].gain > std::max(1.0, 0.5 * lost_error)) {
            ShiftChoiceOptions stops_alone = options;
            stops_alone.traces = {};
            ShiftChoice refused = choose_shift(witnesses, fold_of_witness, raster, stops_alone, threads);
            refused.beds_refused = true;
            return refused;
        }
        field_options.traces = options.traces;
    }
    if (!beats_rest) return choice;
    choice.beds_followed = !options.traces.empty();
    choice.chosen = choice.trials[best];
    choice.field = fit_shift_field(witnesses, best_surfaces, field_options);
    choice.field.ready_for_many_places();
    return choice;
}

}  // namespace subcrop::infer
