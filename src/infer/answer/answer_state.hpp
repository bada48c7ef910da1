// What an Answer stores, and how it is computed.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "infer/answer/blurred_draft.hpp"
#include "infer/answer/category_field.hpp"
#include "infer/answer/displacement.hpp"
#include "infer/answer/testimony.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/answer.hpp"
#include "subcrop/infer/answer_settings.hpp"
#include "subcrop/infer/shift_choice.hpp"

namespace subcrop::infer {

struct Answer::State {
    AnswerSettings settings;
    std::vector<model::UnitIndex> units;  ///< drawn somewhere, observed somewhere, or all of a short legend
    std::vector<double> shares;           ///< share of each of `units` in the area; sum to 1
    double contact_sd_m = 0;
    double stop_distance_m = 0;  ///< mean distance between stops
    double single_errors = 0;    ///< share of the area not explained by a smooth error
    double area_share = 0;       ///< prior share of areas wrong as a whole
    std::optional<BlurredDraft> draft;
    const BlurredDraft::Layer* as_drawn = nullptr;  ///< the draft blurred by the learnt error
    const BlurredDraft::Layer* as_moved = nullptr;  ///< the draft blurred by the error that remains after moving
    const BlurredDraft::Layer* about = nullptr;     ///< blurred over the reach of areas: shares of units nearby
    DisplacementDraws draws;
    CategoryField areas;  ///< class 0 'as moved'
    PriorMeans area_means{5};
    CategoryField rest;  ///< one class a unit
    PriorMeans rest_means{2};

    /// Probability of unit k if the drafted contacts give it `drafted`: single errors are allowed for.
    double with_single_errors(double drafted, std::size_t k) const {
        return (1 - single_errors) * drafted + single_errors * shares[k];
    }
    /// Probabilities before stages 3 and 4: the draft, moved if stage 2 moved it.
    void moved(Point place, std::span<float> p) const;
    /// Prior means of the classes of `areas` if the units have the probabilities `p`.
    void means_of_areas(Point place, std::span<const float> p, double share, std::span<float> means) const;
    void means_of_rest(Point place, std::span<const float> p, double share, std::span<float> means) const;
    /// Share of each unit around a place.
    void common(Point place, std::span<float> q) const;
    /// All stages. `as_moved_share`: probability that the draft is right after contacts moved. `before`: the result of
    /// `moved` alone. Both are optional.
    void answer(Point place, std::span<float> p, float* as_moved_share, std::span<float> before = {}) const;
};

/// The answer, and its probabilities at the stops that were used.
struct Reckoned {
    std::shared_ptr<Answer::State> state;
    ShiftChoice shift;
    std::vector<float>
        prior;  ///< stops of the testimony x its units: before the stop's own soil, its own evidence removed
    std::vector<float> moved;     ///< the same, after stage 2 alone
    std::vector<float> as_moved;  ///< for each stop: probability that it is on no disputed area; may be empty
    std::vector<float> areas;     ///< stops x units: that it is on a disputed area, really of this unit
};

struct AnswerInput {
    const geo::UnitMap* map = nullptr;
    std::vector<model::UnitIndex> units;  ///< of the testimony
    std::vector<double> shares;           ///< share of each in the area
    double contact_sd_m = 25;             ///< learnt
    double stated_sd_m = 25;              ///< as in the survey file
    double draft_error_share = 0.05;      ///< the setting of that name
    std::span<const geo::ContactTrace> traces{};
    AnswerSettings settings;
    unsigned threads = 0;
};

/// Stage 2 alone. Without `decided` it decides whether contacts move. With `decided` it fits that displacement again,
/// with new evidence.
Reckoned move_draft(const Testimony& testimony, const AnswerInput& input, const ShiftChoice* decided);
/// Adds stages 3 and 4. They use `soil_below`, the evidence of the unit below each stop.
void add_areas(const Testimony& testimony, const AnswerInput& input, Reckoned& reckoned);

}  // namespace subcrop::infer
