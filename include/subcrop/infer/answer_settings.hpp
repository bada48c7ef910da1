// All thresholds and tempering factors of the answer (answer.hpp).
#pragma once

#include <cstddef>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Thresholds and tempering factors of the answer. Unless a comment says otherwise, they were chosen on warped and
/// relabelled drafts of a large soil survey (2,776 stops). The others were chosen on the surveys that the comment
/// names.
struct AnswerSettings {
    /// Part of `draft_error_share` for areas that are wrong as a whole; the rest is for single wrong places.
    double wrong_areas = 0.2;
    // 1: the error of contacts
    double error_prior_log_sd = 0.6931471805599453;  ///< sd of ln(error) about ln(stated error): a factor of 2
    double error_soil_share = 0.6;                   ///< tempering factor of soil
    double error_unobserved_weight = 0.5;            ///< weight of stops without observed bedrock
    double error_share = 0.02;                       ///< share of stops that no error of contacts explains
    /// Of the stated error, by its logarithm, in the error that zones and location classes use; the rest is the learnt
    /// one. Errors have heavier tails than a normal law of their usual size, so that a learnt error is too small for a
    /// zone. Chosen on folds 11, flat 31 and faulted 21, also dense (tests/bench/invented_shift).
    double zone_stated_share = 0.75;
    /// Of the same error: what remains in the zone of a contact that moved. With more, zones hold more, but a contact
    /// that is wrong by twice its error is no longer called misplaced.
    double zone_residual = 0.3;
    // 2: the displacement
    double displacement_soil_share = 0.4;
    /// Standard deviation along an axis, tried as a multiple of the learnt and of the stated error. The one that
    /// predicts hidden stops better is taken. If a draft is right in most places, the learnt error is smaller than the
    /// error of its wrong places.
    double amplitude = 0.75;
    double residual = 0.25;  ///< blur that remains after moving, as a multiple of the learnt error
    double min_residual_m = 10;
    double reach = 0.1;        ///< share of the longer side of the stops' area; half of the variance has twice that
    double gain_needed = 1.5;  ///< by how many standard errors of the fold sums a move must beat no move
    /// The same if bedrock was observed at fewer than `min_observed` stops. Soil spills over contacts. Signatures
    /// learnt from the draft alone cannot tell that from a misplaced contact. Chosen on the right Jura draft, contacts
    /// stated to 50 m.
    double gain_needed_by_soil = 2;
    double min_gain = 2;         ///< it must also beat no move by this many nats
    std::size_t min_stops = 12;  ///< with fewer nothing moves
    std::size_t folds = 5;       ///< of the cross-validation
    std::size_t draws = 24;
    // 2b: a single stretch of contact, if the map as a whole is not moved; lengths in stated errors. Chosen on seeds 1
    // to 80 of tests/bench/few_stops and on right invented surveys
    double stretch_soil_share = 0.6;
    double stretch_reach = 4.5;             ///< largest displacement tried
    double stretch_most = 3;                ///< a larger shift means a wrong area rather than a misplaced contact
    double stretch_sd = 2.5;                ///< prior sd of the displacement
    double stretch_beyond = 0.75;           ///< smaller displacements count as drawn
    double stretch_apart = 1.5;             ///< gap along the contact that separates groups of stops
    std::size_t stretch_groups = 3;         ///< groups of stops needed to judge a stretch
    double stretch_needed_nats = 0.3;       ///< ln odds needed for a single stretch; with n stretches ln n more
    double stretch_caution_by_soil = 1.2;   ///< factor of that if bedrock was observed at fewer than min_observed stops
    double stretch_needed_without_one = 0;  ///< ln odds that must remain when any one group is left out
    // 3: areas of another unit
    /// With fewer stops with observed bedrock no area is redrawn, because soil alone finds wrong areas.
    std::size_t min_observed = 20;
    double area_soil_share = 0.2;
    double area_sd = 5;
    double area_reach = 2.5;  ///< in mean distances between stops; chosen with seeds 1 to 4 of tests/bench/jura_patches
    double area_local_share = 0.5;  ///< part of the prior of other units that follows their share within the reach
    /// If a larger share of the stops lies in such areas, signatures are learnt again from them. Not chosen on any
    /// survey.
    double areas_to_learn_from = 0.03;
    // 4: the errors that remain if nothing moved
    double residual_sd = 2;
    double residual_reach = 2.1;  ///< in mean distances between stops
    // the revised map
    double change_odds = 2;  ///< odds by which another unit must be favoured over the drawn one, after contacts moved
    // 5: a stop's own soil
    double own_soil_share = 0.75;        ///< weight if neighbouring soils moved contacts or redrew areas; else 1
    double own_soil_share_sd = 0.3;      ///< sd of the normal prior about it
    std::size_t own_soil_observed = 50;  ///< stops with observed bedrock needed to learn the share
    double own_soil_least = 0.2;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
