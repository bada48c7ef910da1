// How well the stops of a survey can find errors of its draft. The draft is made wrong on purpose, in known ways. Each
// wrong draft is then judged like any other.
//
//     Trial trial = try_draft(survey, reduced, map, {.seeds = 3}, threads, progress);
//     double spoilt = trial.unwarped.spoilt;  // share of the area it would change if nothing was made wrong
//     double found = trial.warped[1].found;   // average precision of the wrong stops, beside `found_by_distance`
//
// Each wrong draft is warped by a smooth random displacement, and discs of it are given to other units. The draft as
// drawn and observed bedrock count as the truth. The notes do not change. Where the draft is really wrong, they
// contradict it already. So real errors of the draft distort these figures, mostly for the worse. Cost: one run for
// each warp and seed, and one more.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct TrialOptions {
    unsigned seeds = 3;                    ///< wrong drafts for each size of warp
    std::vector<double> warps{0.5, 1, 2};  ///< root mean square displacement, in contact_sd_m
    std::size_t patches = 2;               ///< discs relabelled in each wrong draft
};

/// Means over the seeds, unless said otherwise.
struct TrialFigures {
    double warp_m = 0;  ///< root mean square displacement; 0: the draft as drawn
    unsigned drafts = 0;
    double wrong_stops = 0;           ///< share of the stops (on the map) where the draft was made wrong
    double found = 0;                 ///< average precision of the wrong stops, ranked by 1 - p_mapped
    double found_by_distance = 0;     ///< ranked by nearness to the drafted contacts alone
    std::size_t conflicts = 0;        ///< sum over the drafts
    std::size_t false_conflicts = 0;  ///< conflicts where the draft was not made wrong
    double ground_wrong_before = 0;   ///< share of the area among the stops
    double ground_wrong_after = 0;    ///< once contacts are moved
    double spoilt = 0;                ///< share of the area that was right and is wrong after contacts moved
    double zones_cover = 0;           ///< share of the true contacts' length within the 90 % zones
    double half_width_m = 0;          ///< of these zones
    unsigned drafts_moved = 0;        ///< number of drafts in which contacts were moved
};

struct Trial {
    std::size_t stops = 0;  ///< on the map
    std::size_t stops_rock_seen = 0;
    double patch_radius_m = 0;
    double reach_m = 0;  ///< correlation length of the warps; larger where a warp would fold
    TrialFigures unwarped;
    std::vector<TrialFigures> warped;  ///< one a warp
};

/// Deterministic: the result depends on the survey's `seed`, not on the threads. At least one stop must lie on `map`.
Trial try_draft(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map,
                const TrialOptions& options, unsigned threads, Progress& progress);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
