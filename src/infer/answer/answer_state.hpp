// What an Answer keeps, and how it is made.
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
    std::vector<model::UnitIndex> units;  ///< told apart: drawn somewhere, observed somewhere, or all of a short legend
    std::vector<double> shares;           ///< of the area, one of `units` each; sum to 1
    double contact_sd_m = 0;
    double stop_distance_m = 0;  ///< mean distance between stops
    double single_errors = 0;    ///< share of the area that no smooth error explains
    double area_share = 0;       ///< prior share of areas wrong as a whole
    std::optional<BlurredDraft> draft;
    const BlurredDraft::Layer* as_drawn = nullptr;  ///< blurred by the learnt error
    const BlurredDraft::Layer* as_moved = nullptr;  ///< by what remains once moved
    const BlurredDraft::Layer* about = nullptr;     ///< over the reach of areas: how common units are near by
    DisplacementDraws draws;
    CategoryField areas;  ///< class 0 'as moved'
    PriorMeans area_means{5};
    CategoryField rest;  ///< one class a unit
    PriorMeans rest_means{2};

    /// Where the drafted contacts give unit k the probability `drafted`: single errors heeded.
    double with_single_errors(double drafted, std::size_t k) const {
        return (1 - single_errors) * drafted + single_errors * shares[k];
    }
    /// Probabilities before areas and what is left: the draft, moved where it was.
    void moved(Point place, std::span<float> p) const;
    /// Prior means of the classes of `areas` where the units have the probabilities `p`.
    void means_of_areas(Point place, std::span<const float> p, double share, std::span<float> means) const;
    void means_of_rest(Point place, std::span<const float> p, double share, std::span<float> means) const;
    /// How common each unit is about a place.
    void common(Point place, std::span<float> q) const;
    /// All stages. `as_moved_share`: probability that the draft holds, its contacts moved. `before`: what `moved` alone
    /// says. Both where asked for.
    void answer(Point place, std::span<float> p, float* as_moved_share, std::span<float> before = {}) const;
};

/// The answer, and what it says at the stops that testified.
struct Reckoned {
    std::shared_ptr<Answer::State> state;
    ShiftChoice shift;
    std::vector<float>
        prior;  ///< stops of the testimony x its units: before the stop's own soil, its own word taken back
    std::vector<float> moved;     ///< the same after stage 2 alone
    std::vector<float> as_moved;  ///< one a stop: probability that it stands on no disputed area; empty: not asked
    std::vector<float> areas;     ///< stops x units: that it stands on one, truly of this unit
};

struct AnswerInput {
    const geo::UnitMap* map = nullptr;
    std::vector<model::UnitIndex> units;  ///< of the testimony
    std::vector<double> shares;           ///< of the area, one each
    double contact_sd_m = 25;             ///< learnt
    double stated_sd_m = 25;              ///< as the survey file has it
    double draft_error_share = 0.05;      ///< the setting of that name
    std::span<const geo::ContactTrace> traces{};
    AnswerSettings settings;
    unsigned threads = 0;
};

/// Stage 2 alone: decides whether contacts move (`decide`), or fits the displacement decided on before with fresh
/// evidence.
Reckoned move_draft(const Testimony& testimony, const AnswerInput& input, const ShiftChoice* decided);
/// Stages 3 and 4 upon it. `soil_below` is used: the evidence of the unit below each stop.
void add_areas(const Testimony& testimony, const AnswerInput& input, Reckoned& reckoned);

}  // namespace subcrop::infer
