// A displacement as large as the stated error of contacts, whatever cross-validation says of it.
#pragma once

#include <algorithm>
#include <span>
#include <vector>

#include "infer/answer/displacement.hpp"
#include "infer/answer/testify.hpp"

namespace subcrop::bench {

struct ForcedField {
    infer::Testimony testimony;
    infer::ShiftField field;
    double trace_evidence = 0;
};

inline ForcedField forced_field(const geo::UnitMap& map, const infer::Fit& fit, double sd_m,
                                std::span<const geo::ContactTrace> traces) {
    const infer::AnswerSettings settings;
    const infer::Fit::Reckoning& reckoning = *fit.reckoning;
    infer::Training training;
    training.fold_of_stop = reckoning.fold_of_stop;
    const std::vector<model::UnitIndex> units = infer::units_told_apart(*reckoning.survey, map);
    ForcedField forced;
    forced.testimony = infer::testify(reckoning, training, fit.stops, units);
    Box box;
    for (const model::Stop& stop : reckoning.survey->stops) box.add(stop.position);
    infer::DisplacementOptions options;
    options.amplitude_m = sd_m;
    options.reach_m = settings.reach * std::max(box.width(), box.height());
    options.longer_share = 0;
    options.residual_m = 0.3 * sd_m;
    options.error_share = reckoning.survey->settings.draft_error_share;
    for (const model::UnitIndex unit : units)
        options.shares.push_back(reckoning.ground[static_cast<std::size_t>(unit)]);
    options.traces = traces;
    infer::BlurredDraft draft(map, units, 0.15 * sd_m, 3 * sd_m, 0);
    const infer::Seats seats(forced.testimony, infer::usual_position_sd(forced.testimony), true);
    forced.trace_evidence = infer::trace_evidence(forced.testimony, options);
    forced.field = infer::fit_displacement(
        forced.testimony, seats, infer::StopBumps(forced.testimony, options.reach_m, options.longer_share, 0),
        forced.testimony.likelihoods(forced.testimony.soil, settings.displacement_soil_share), draft, options, {}, 0);
    forced.field.ready_for_many_places();
    return forced;
}

}  // namespace subcrop::bench
