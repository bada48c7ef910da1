// One answer for the whole map: how probable each unit is at any place, given the draft and all that the stops tell.
//
//     std::vector<float> p(survey.units.size());
//     fit.answer.at(place, p);                  // one probability a unit; they sum to 1
//     double sd_m = fit.answer.contact_sd_m();  // standard error of drafted contacts, learnt from the stops
//
// The model is fitted in stages, each tempered for the resemblance of neighbouring soils:
//   1. The error of drafted contacts is learnt by marginal likelihood, with the stated one as prior
//   (answer/contact_error.hpp).
//   2. A smooth displacement of the draft, adopted where it predicts hidden stops better than the draft as drawn
//   (shift_choice.hpp).
//   3. Areas of another identity over the draft: a class 'as moved' and one class a unit.
//   Each is a Gaussian process.
//   4. Where 2 was refused, a Gaussian process a unit over what is left.
//   5. At a stop its own soil, by a share that is learnt where bedrock was observed.
//   What it told 2 to 4 is taken back first.
//
// Every layer, sentence and figure of a run that says what lies where is a view of it.
//
// Not good at: drafts whose areas are wrong where no bedrock was observed (stage 3 is then skipped). Not good at errors
// of contacts that differ much between parts of the map: one error is learnt for all.
#pragma once

#include <cstddef>
#include <memory>
#include <span>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/stop.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

class Answer {
public:
    Answer();  ///< to no question: `empty`
    bool empty() const { return state_ == nullptr; }
    /// Standard error of drafted contacts, learnt; metres.
    double contact_sd_m() const;
    /// Mean distance between the stops that testified, metres.
    double stop_distance_m() const;
    /// Probability of every unit of the survey at a place, in the survey's order. Sums to 1. Away from the map it is
    /// how common each unit is. Cost: below 1 us far from contacts and disputes, 5 us near them.
    void at(Point place, std::span<float> probability) const;
    /// Probability that the area about a place is drafted wrong as a whole, by no error of contacts.
    double p_disputed(Point place) const;
    /// The unit that everything noted favours over the one as drawn, its contacts moved, and by what odds.
    struct Revision {
        model::UnitIndex unit = model::no_unit;  ///< as drawn where none is favoured
        double odds = 1;  ///< over the unit as drawn, beyond what the blur of contacts alone would give
    };
    /// `drafted`: the draft's unit at `place_on_draft(place)`; no_unit: off the map, and stays so.
    Revision revision(Point place, model::UnitIndex drafted) const;
    /// Where on the draft the unit at a place is to be looked up: moved by the displacement, where one was adopted.
    Point place_on_draft(Point place) const;

    struct State;
    explicit Answer(std::shared_ptr<const State> state);

private:
    std::shared_ptr<const State> state_;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
