// A stretch of contact shifted to one side: the displacement around it, and where it is trusted.
#pragma once

#include <array>
#include <span>
#include <utility>
#include <vector>

#include "infer/answer/shift_state.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/shift_choice.hpp"

namespace subcrop::infer {

/// The whole stretch moves in one direction, normal to the straight line between its ends. Bends of the contact do not
/// turn the shift.
class StretchShift {
public:
    StretchShift(const MisplacedStretch& stretch, double stated_sd_m);

    /// 1 near the drafted and the new place of the stretch. It falls smoothly to 0 around, so slowly that the map does
    /// not fold.
    double trust(Point place) const;
    /// Mean displacement u as in shift_field.hpp: the true unit at x is the draft's unit at x + u.
    Point shift() const { return {-shift_m_ * normal_.x, -shift_m_ * normal_.y}; }
    /// Unit vector of the shift, to the left of the contact's line.
    Point normal() const { return normal_; }
    double shift_m() const { return shift_m_; }
    double shift_sd_m() const { return shift_sd_m_; }

private:
    Point start_, along_, normal_;
    double length_m_ = 0, shift_m_ = 0, shift_sd_m_ = 0;
    double near_m_ = 0, far_m_ = 1;  ///< to the sides: full trust within near_m_, none beyond far_m_
    double end_m_ = 0;               ///< distance over which trust falls beyond the ends
};

/// Single shifted stretches. All other contacts are uncertain by the amplitude.
struct SlidStretches : ShiftField::State {
    std::vector<StretchShift> stretches;

    Point mean(Point place) const override;
    double trust(Point place) const override { return on(place).second; }
    std::array<double, 3> covariance(Point place) const override;
    std::array<double, 4> gradient(Point place) const override;
    Eigen::Index noise_size() const override { return static_cast<Eigen::Index>(stretches.size()); }
    void draw(Point place, const Eigen::MatrixXd& noise, std::span<Point> draws) const override;

private:
    /// The stretch that shifts a place, and its trust there; null: none.
    std::pair<const StretchShift*, double> on(Point place) const;
};

/// `places`: of the stops; `stated_sd_m`: of the draft, on which the widths about a stretch rest; `still_sd_m`: of
/// contacts that do not slide, `zone_residual_m` of it included.
ShiftField slide_stretches(const std::vector<MisplacedStretch>& stretches, std::span<const Point> places,
                           double stated_sd_m, double still_sd_m, double zone_residual_m, double residual_m);

}  // namespace subcrop::infer
