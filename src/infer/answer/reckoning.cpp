#include "infer/answer/reckoning.hpp"

#include <algorithm>
#include <cmath>

#include "infer/answer/testify.hpp"

namespace subcrop::infer {

double carried_beyond_doubt(const model::Reduced& reduced, std::size_t stop) {
    const double usual = reduced.p_transported_without_cue;
    if (usual >= 1) return 0;
    return std::max(0.0, (static_cast<double>(reduced.p_transported[stop]) - usual) / (1 - usual));
}

double chance_of_name(std::size_t named, std::size_t truly, std::span<const double> ground, double certainty) {
    return named == truly ? certainty : (1 - certainty) * ground[named] / (1 - ground[truly]);
}

bool Fit::Reckoning::has_evidence(std::size_t stop) const {
    if (survey->stops[stop].unit_seen != model::no_unit) return true;
    return std::any_of(signatures.begin(), signatures.end(), [&](const Signature& s) { return s.speaks(stop); });
}

void Fit::Reckoning::soil(std::size_t stop, std::span<double> log_likelihood) const {
    std::fill(log_likelihood.begin(), log_likelihood.end(), 0.0);
    for (std::size_t c = 0; c < signatures.size(); ++c) {
        if (!signatures[c].speaks(stop)) continue;
        const auto row = signatures[c].row(stop);
        const double factor = weight(c);
        for (std::size_t u = 0; u < row.size(); ++u) log_likelihood[u] += factor * static_cast<double>(row[u]);
    }
    // With probability t the soil was transported; it is then equally likely on every bedrock unit.
    const double t = carried_beyond_doubt(*reduced, stop);
    if (t <= 0) return;
    for (std::size_t u = 0; u < log_likelihood.size(); ++u) {
        if (survey->units[u].cover) continue;
        const double l = log_likelihood[u];  // the larger term is factored out, to avoid overflow
        log_likelihood[u] = l > 0 ? l + std::log((1 - t) + t * std::exp(-l)) : std::log((1 - t) * std::exp(l) + t);
    }
}

void Fit::Reckoning::soil_below(std::size_t stop, std::span<double> log_likelihood) const {
    soil(stop, log_likelihood);
    likelihood_below(origins.of(stop), separation, ground, survey->settings.draft_error_share, log_likelihood);
}

void Fit::Reckoning::soil_shares(std::size_t stop, std::span<const float> membership, std::span<double> shares) const {
    const model::UnitIndex seen = survey->stops[stop].unit_seen;
    const double certainty = survey->settings.seen_rock_certainty;
    const double other = (1 - certainty) / std::max<double>(1, static_cast<double>(shares.size()) - 1);
    for (std::size_t u = 0; u < shares.size(); ++u) {
        const bool is_seen = seen != model::no_unit && static_cast<std::size_t>(seen) == u;
        shares[u] = seen == model::no_unit ? static_cast<double>(membership[u]) : is_seen ? certainty : other;
    }
    const auto of_stop = origins.of(stop);
    if (of_stop.empty()) return;
    std::vector<double> below(shares.begin(), shares.end()), on_draft(shares.size(), 0.0);
    for (const Origin& origin : of_stop)
        on_draft[static_cast<std::size_t>(origin.below)] += static_cast<double>(origin.share);
    for (std::size_t u = 0; u < shares.size(); ++u) {
        if (on_draft[u] > 0) shares[u] = 0;  // distributed below
    }
    for (const Origin& origin : of_stop) {
        const auto u = static_cast<std::size_t>(origin.below);
        const double part =
            below[u] * static_cast<double>(origin.share) / on_draft[u] / static_cast<double>(origin.sources.size());
        for (const model::UnitIndex source : origin.sources) shares[static_cast<std::size_t>(source)] += part;
    }
}

void Fit::Reckoning::prior_of(std::size_t stop, std::span<double> p) const {
    if (!prior.empty()) {
        for (std::size_t u = 0; u < p.size(); ++u) p[u] = static_cast<double>(prior[stop * units() + u]);
        return;
    }
    placed.row(stop, p);
    prior_at(p, ground, survey->settings.draft_error_share, p);
    for (double& share : p) share = static_cast<double>(static_cast<float>(share));  // rounded as when stored
}

void Fit::Reckoning::posterior(std::size_t stop, std::span<double> log_likelihood, std::span<double> p) const {
    soil_below(stop, log_likelihood);
    add_rock_seen(stop, log_likelihood);
    const double greatest = *std::max_element(log_likelihood.begin(), log_likelihood.end());
    double sum = 0;
    prior_of(stop, p);
    for (std::size_t u = 0; u < p.size(); ++u) sum += p[u] *= std::exp(log_likelihood[u] - greatest);
    for (double& x : p) x /= sum;
}

void Fit::Reckoning::tempered_log_likelihood(std::size_t stop, std::span<double> log_likelihood) const {
    soil_below(stop, log_likelihood);
    for (double& l : log_likelihood) l *= neighbours_repeat;
    add_rock_seen(stop, log_likelihood);
    const double greatest = *std::max_element(log_likelihood.begin(), log_likelihood.end());
    for (double& l : log_likelihood) l -= greatest;
}

void Fit::Reckoning::add_rock_seen(std::size_t stop, std::span<double> log_likelihood) const {
    const model::UnitIndex seen = survey->stops[stop].unit_seen;
    if (seen == model::no_unit || log_likelihood.size() < 2) return;
    const auto named = static_cast<std::size_t>(seen);
    for (std::size_t u = 0; u < log_likelihood.size(); ++u)
        log_likelihood[u] += std::log(chance_of_name(named, u, ground, survey->settings.seen_rock_certainty));
}

}  // namespace subcrop::infer
