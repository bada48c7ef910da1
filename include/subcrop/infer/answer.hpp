// One answer for the whole map: how probable each unit is at any place, given the draft and all stops.
//
//     std::vector<float> p(survey.units.size());
//     fit.answer.at(place, p);                  // one probability a unit; they sum to 1
//     double sd_m = fit.answer.contact_sd_m();  // standard error of drafted contacts, learnt from the stops
//
// The model is fitted in stages. In each the soil is tempered, because neighbouring soils are alike:
//   1. The error of drafted contacts, by marginal likelihood. The stated error is the prior (answer/contact_error.hpp).
//   2. A smooth displacement of the draft, adopted if it predicts hidden stops better than the draft as drawn
//   (shift_choice.hpp).
//   3. Areas of another unit than drawn: a class 'as moved' and one class for each unit.
//   Each class is a Gaussian process.
//   4. If 2 was refused: a Gaussian process for each unit, for the errors that remain.
//   5. At a stop: its own soil. Its weight is learnt if enough bedrock was observed.
//   The soil's effect on 2 to 4 is removed first.
//
// Every layer, sentence and figure of a run that says which unit lies where is computed from it.
//
// Not good at: drafts with wrong areas if little bedrock was observed (stage 3 is then skipped). Not good at contacts
// whose error differs much between parts of the map: one error is learnt for all.
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
    Answer();  ///< an empty answer
    bool empty() const { return state_ == nullptr; }
    /// Standard error of drafted contacts, learnt; metres.
    double contact_sd_m() const;
    /// Mean distance between the stops that were used, metres.
    double stop_distance_m() const;
    /// Probability of every unit of the survey at a place, in the survey's order. Sums to 1. Far from the map it is the
    /// share of each unit in the area. Cost: below 1 us far from contacts and disputes, 5 us near them.
    void at(Point place, std::span<float> probability) const;
    /// Probability that the area around a place is drawn as the wrong unit, beyond any error of contacts.
    double p_disputed(Point place) const;
    /// The unit that the notes favour over the drawn unit (after contacts moved), and by what odds.
    struct Revision {
        model::UnitIndex unit = model::no_unit;  ///< as drawn where none is favoured
        double odds = 1;  ///< against the unit as drawn, beyond what the blur of contacts alone gives
    };
    /// `drafted`: the draft's unit at `place_on_draft(place)`. With no_unit (off the map) the result is no_unit.
    Revision revision(Point place, model::UnitIndex drafted) const;
    /// The place on the draft that shows this place: moved by the displacement, if one was adopted.
    Point place_on_draft(Point place) const;

    struct State;
    explicit Answer(std::shared_ptr<const State> state);

private:
    std::shared_ptr<const State> state_;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
