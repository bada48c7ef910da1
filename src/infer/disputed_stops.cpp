#include "disputed_stops.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// Soils of neighbours resemble one another beyond what their unit explains, so that many together say less than the sum of
/// each. Chosen with patches relabelled in the Jura map (tests/bench/jura_patches): 0.15 to 0.35 do about equally well.
constexpr double neighbours_say = 0.25;
/// The scan's share of `draft_error_share`: the rest is wrong in single places.
constexpr double as_a_whole = 0.5;

}  // namespace

PatchScan scan_for_patches(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const ShiftField& field,
                           const std::vector<float>& membership, const std::vector<double>& ground, unsigned threads) {
    const model::Survey& survey = *reckoning.survey;
    const std::size_t units = reckoning.units(), stops = survey.stops.size();
    PatchEvidence evidence;
    evidence.units = units;
    evidence.ground = ground;
    evidence.drafted.assign(stops, model::no_unit);
    evidence.log_ratio.assign(stops * units, 0.0f);
    evidence.rock_seen.assign(stops, 0);
    for (const model::Stop& stop : survey.stops) evidence.places.push_back(stop.position);
    parallel_blocks(stops, 2048, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> likelihood(units);
        for (std::size_t s = begin; s < end; ++s) {
            const float* drafted = &membership[s * units];
            if (!reckoning.has_evidence(s)) continue;
            const Point place = survey.stops[s].position, moved = field.displacement(place);
            evidence.drafted[s] = map.unit_at({place.x + moved.x, place.y + moved.y});
            if (evidence.drafted[s] == model::no_unit) continue;
            evidence.rock_seen[s] = survey.stops[s].unit_seen != model::no_unit;
            reckoning.soil_below(s, likelihood);
            for (double& l : likelihood) l *= neighbours_say;
            reckoning.add_rock_seen(s, likelihood);
            const double greatest = *std::max_element(likelihood.begin(), likelihood.end());
            // Near a contact the draft, its error known, allows for the neighbour too: what that explains is no dispute.
            double sum = 0, on_map = 0;
            for (std::size_t u = 0; u < units; ++u) {
                sum += static_cast<double>(drafted[u]) * std::exp(likelihood[u] - greatest);
                on_map += static_cast<double>(drafted[u]);
            }
            const double draft = greatest + std::log(std::max(sum / std::max(on_map, 1e-9), 1e-12));
            for (std::size_t u = 0; u < units; ++u) evidence.log_ratio[s * units + u] = static_cast<float>(likelihood[u] - draft);
        }
    });
    PatchScanOptions options;
    options.share = as_a_whole * survey.settings.draft_error_share;
    options.single_errors = survey.settings.draft_error_share;
    options.rock_certainty = survey.settings.seen_rock_certainty;
    options.seed = survey.settings.seed;
    return scan_patches(evidence, options, threads);
}

double add_patches(const PatchScan& scan, std::size_t stop, std::vector<double>& probability) {
    if (scan.empty()) return 0;
    const double p_patch = std::min(1.0, scan.p_patch(stop));
    for (std::size_t u = 0; u < probability.size(); ++u)
        probability[u] = (1 - p_patch) * probability[u] + static_cast<double>(scan.probability[stop * scan.units + u]);
    return p_patch;
}

}  // namespace subcrop::infer
