// A stretch of contact slid to one side: the displacement about it, and where that is trusted.
#pragma once

#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/shift_choice.hpp"

namespace subcrop::infer {

/// All of a stretch goes one way, across the straight line between its ends: bends of the draft are no turns of the shift.
class StretchShift {
public:
    StretchShift(const MisplacedStretch& stretch, double stated_sd_m);

    /// 1 about the drafted and the new place of the stretch, smoothly to 0 around, so slowly that the map does not fold.
    double trust(Point place) const;
    /// Mean displacement u, in the sense of shift_field.hpp: the truth at x is the draft at x + u.
    Point shift() const { return {-shift_m_ * normal_.x, -shift_m_ * normal_.y}; }
    /// The way it goes, to the left of the contact's line.
    Point normal() const { return normal_; }
    double shift_m() const { return shift_m_; }
    double shift_sd_m() const { return shift_sd_m_; }

private:
    Point start_, along_, normal_;
    double length_m_ = 0, shift_m_ = 0, shift_sd_m_ = 0;
    double near_m_ = 0, far_m_ = 1;  ///< to the sides: trusted in full within the one, not at all beyond the other
    double end_m_ = 0;               ///< before and beyond the ends trust falls over this
};

}  // namespace subcrop::infer
