// Whether to move contacts at all, and how far a move may go. A right map is left alone: a field is adopted only where ground held
// out from it says so. How large moves are is taken from the draft's stated error unless held-out ground surely knows better: few stops
// tell sizes apart badly, and the largest of several noisy scores would choose by chance. Among sizes that do no worse than the best one
// by more than the standard error of the difference, the one nearest what the draft's stated error lets expect is taken, as the
// one-standard-error rule takes the simplest (Breiman, Friedman, Olshen and Stone, Classification and Regression Trees, 1984, from memory).
//
//     ShiftChoice choice = choose_shift(witnesses, folds, raster, options, threads);
//     if (!choice.field.still()) ...       // moved
//
// The second guard is the field's own (`ShiftField::trust`): ground where the move may well be chance stays as drafted. Held-out
// witnesses are scored accordingly, by a mixture of the draft at rest and the field in the shares of trust, so that a draft that is
// wrong in one part only is not judged by the other.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

struct ShiftChoiceOptions {
    double contact_sd_m = 25;
    double extent_m = 1000;      ///< longer side of the stops' ground
    double error_share = 0.05;
    std::vector<double> ground;  ///< share of each unit
    Separation separation{};     ///< for witnesses whose soil is a blend
    std::span<const geo::ContactTrace> traces{};         ///< where contacts would run did they follow the beds
    std::vector<double> amplitudes{0.2, 0.4, 0.8, 1.6};  ///< tried, in contact_sd_m
    double usual_amplitude = 0.8;    ///< what the draft's stated error lets expect, in contact_sd_m
    double log_amplitude_sd = 0.35;  ///< how surely: standard deviation of ln amplitude
    double reach = 0.1;              ///< of the field, in extent_m
    /// Tried: errors that go together over that reach, or over a mixture of it and twice as much.
    std::vector<double> longer_shares{0, 0.5};
    double residual = 0.3;       ///< blur that remains once shifted, in contact_sd_m
    double gain_needed = 1;      ///< standard errors of the block sums by which a move must beat no move
    double least_gain = 1;       ///< nats by which a move must beat no move besides, however even the blocks
};

/// How one amplitude did with one mixture of reaches.
struct ShiftTrial {
    double amplitude_m = 0;
    double reach_m = 0;
    double longer_share = 0;   ///< of the variance that goes to twice the reach
    double gain = 0;           ///< held-out log likelihood over no move at all, nats
    double gain_error = 0;     ///< its standard error, from the sums over blocks
    double trace_gain = 0;     ///< ln of how much better it explains the beds' traces than the draft as it stands

    double total() const { return gain + trace_gain; }
};

struct ShiftChoice {
    ShiftField field;
    std::string decided_by;  ///< whose held-out word decided: "soil" or "soil and rock seen"; empty: not asked
    std::vector<ShiftTrial> trials;
    ShiftTrial chosen;  ///< amplitude 0: left alone
    bool beds_followed = false;  ///< traces took part
    bool beds_refused = false;   ///< held-out stops are better explained without them
};

/// `fold_of_witness`: its block of ground's group. `decided_by` is left to the caller.
ShiftChoice choose_shift(std::span<const Witness> witnesses, std::span<const std::uint16_t> fold_of_witness,
                         const geo::UnitRaster& raster, const ShiftChoiceOptions& options, unsigned threads);

}  // namespace subcrop::infer
