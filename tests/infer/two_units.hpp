// Testimony about two units, and displacements fitted to it.
#pragma once

#include <vector>

#include "infer/answer/displacement.hpp"

namespace subcrop::infer {

/// Nobody yet, of two units.
inline Testimony no_testimony() {
    Testimony t;
    t.units = 2;
    return t;
}

inline void add_stop(Testimony& t, Point place, double log_first, double log_second, std::uint16_t fold = 0,
                     double position_sd_m = 0) {
    t.stop.push_back(static_cast<std::uint32_t>(t.size()));
    t.place.push_back(place);
    t.position_sd_m.push_back(position_sd_m);
    t.fold.push_back(fold);
    t.observed.push_back(0);
    t.soil_from.emplace_back();
    for (std::vector<float>* of : {&t.soil, &t.soil_below}) {
        of->push_back(static_cast<float>(log_first));
        of->push_back(static_cast<float>(log_second));
    }
    t.bedrock.insert(t.bedrock.end(), 2, 0.0f);
}

inline DisplacementOptions displacement_of(double amplitude_m, double reach_m, double residual_m, double error_share,
                                           double longer_share = 0) {
    DisplacementOptions options;
    options.amplitude_m = amplitude_m;
    options.reach_m = reach_m;
    options.residual_m = residual_m;
    options.error_share = error_share;
    options.longer_share = longer_share;
    options.shares = {0.5, 0.5};
    return options;
}

inline ShiftField fit_two_units(const Testimony& t, const geo::UnitMap& map, const DisplacementOptions& options,
                                double cell_m = 5) {
    BlurredDraft draft(map, std::vector<model::UnitIndex>{0, 1}, cell_m, 400, 2);
    return fit_displacement(t, Seats(t, usual_position_sd(t), true),
                            StopBumps(t, options.reach_m, options.longer_share, 2), t.likelihoods(t.soil, 1), draft,
                            options, {}, 2);
}

}  // namespace subcrop::infer
