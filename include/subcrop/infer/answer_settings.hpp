// All thresholds and tempering factors of the answer (answer.hpp), in one place.
#pragma once

#include <cstddef>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Thresholds and tempering factors of the answer. Where nothing else is said they were chosen on warped and relabelled
/// drafts of a large soil survey (2,776 stops). Those named otherwise were settled on the surveys that DEVELOPERS.md
/// names as looked at.
struct AnswerSettings {
    /// Of the setting `draft_error_share`: areas wrong as a whole; the rest is wrong in single places.
    double wrong_areas = 0.2;
    // 1: the error of contacts
    double error_prior_log_sd = 0.6931471805599453;  ///< of ln error about ln of the stated one: a factor of 2
    double error_soil_share = 0.6;                   ///< tempering of soil
    double error_unobserved_weight = 0.5;            ///< of stops without observed bedrock
    double error_share = 0.02;                       ///< of stops that no error of contacts explains
    /// Of the stated error, by its logarithm, in the error that zones and location classes use; the rest is the learnt
    /// one. Errors have heavier tails than a normal law of their usual size, so that a learnt error is too small for a
    /// zone. This and the next were chosen on folds 11, flat 31 and faulted 21, also dense (tests/bench/invented_shift).
    double zone_stated_share = 0.75;
    double zone_residual = 0.5;  ///< of the same error: what remains in the zone of a contact that moved
    // 2: the displacement
    double displacement_soil_share = 0.4;
    /// Standard deviation along an axis, in learnt errors and in stated ones: of the two the one that predicts hidden
    /// stops better is taken. Where a draft is right in most places and wrong in some, the error learnt is less than
    /// that of the wrong ones.
    double amplitude = 0.75;
    double residual = 0.25;  ///< blur that remains once moved, in learnt errors
    double min_residual_m = 10;
    double reach = 0.1;        ///< of the longer side of the stops' area; half of the variance has twice that
    double gain_needed = 1.5;  ///< standard errors of the fold sums by which a move must beat no move
    /// The same where bedrock was observed at fewer than `min_observed` stops: soil spills over contacts, and
    /// signatures learnt from the draft alone cannot tell that from a contact that is misplaced. Chosen on the right
    /// Jura draft, stated to 50 m.
    double gain_needed_by_soil = 2;
    double min_gain = 2;         ///< nats by which it must beat it besides, however even the blocks
    std::size_t min_stops = 12;  ///< below that nothing moves
    std::size_t folds = 5;       ///< of the cross-validation
    std::size_t draws = 24;
    // 2b: a stretch of contact, where the map as a whole is not moved; lengths in stated errors. Chosen on seeds 1 to
    // 80 of tests/bench/few_stops and on right invented surveys
    double stretch_soil_share = 0.6;
    double stretch_reach = 4.5;        ///< farther off nothing is sought
    double stretch_most = 3;           ///< a shift by more is an area drawn wrong rather than a contact
    double stretch_sd = 2.5;           ///< of the displacement, a priori
    double stretch_beyond = 0.75;      ///< displacements of less are as drawn
    double stretch_apart = 1.5;        ///< between groups of stops along the contact
    std::size_t stretch_groups = 3;    ///< of stops, below which nothing is told
    double stretch_needed_nats = 0.3;  ///< ln odds needed were there a single stretch to ask; of n, ln n more
    double stretch_caution_by_soil =
        1.2;  ///< by which that is multiplied with bedrock observed at fewer stops than min_observed
    double stretch_needed_without_one = 0;  ///< ln odds needed without any one group
    // 3: areas of another identity
    /// Stops with observed bedrock below which no area is redrawn: soil alone names wrong ones.
    std::size_t min_observed = 20;
    double area_soil_share = 0.2;
    double area_sd = 5;
    double area_reach = 2.5;  ///< in mean distances between stops; chosen with seeds 1 to 4 of tests/bench/jura_patches
    double area_local_share = 0.5;  ///< of the prior for other units, by how common they are within the reach
    // 4: what is left where nothing moved
    double residual_sd = 2;
    double residual_reach = 2.1;  ///< in mean distances between stops
    // the revised map
    double change_odds = 2;  ///< by which another unit must be favoured over the one as drawn, its contacts moved
    // 5: a stop's own soil
    double own_soil_share = 0.75;        ///< where neighbouring soils moved contacts or redrew areas; else 1
    double own_soil_share_sd = 0.3;      ///< of the normal prior about it
    std::size_t own_soil_observed = 50;  ///< stops with observed bedrock from which the share is learnt
    double own_soil_least = 0.2;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
