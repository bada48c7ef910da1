#include "infer/answer/stretch_shift.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

namespace {

/// Width of the ground over which a shift fades, in shifts: less than 1.5 would fold the map.
constexpr double fades_over = 2;

double falling(double off, double near_m, double far_m) {
    const double t = std::clamp((far_m - off) / (far_m - near_m), 0.0, 1.0);
    return t * t * (3 - 2 * t);
}

}  // namespace

StretchShift::StretchShift(const MisplacedStretch& stretch, double stated_sd_m)
    : start_(stretch.drafted.front()), shift_m_(stretch.shift_m), shift_sd_m_(stretch.shift_sd_m) {
    const Point end = stretch.drafted.back();
    length_m_ = std::max(distance(start_, end), 1e-9);
    along_ = {(end.x - start_.x) / length_m_, (end.y - start_.y) / length_m_};
    normal_ = {-along_.y, along_.x};
    double bend_m = 0;
    for (const Point p : stretch.drafted)
        bend_m = std::max(bend_m, std::abs((p.x - start_.x) * normal_.x + (p.y - start_.y) * normal_.y));
    near_m_ = bend_m + std::abs(shift_m_) + 0.5 * stated_sd_m;
    far_m_ = near_m_ + fades_over * std::abs(shift_m_);
    end_m_ = std::min(std::max(std::abs(shift_m_), 1.0), length_m_ / 3);
}

double StretchShift::trust(Point place) const {
    const Point off{place.x - start_.x, place.y - start_.y};
    const double along = off.x * along_.x + off.y * along_.y, across = std::abs(off.x * normal_.x + off.y * normal_.y);
    return falling(across, near_m_, far_m_) * falling(-std::min(along, length_m_ - along), -end_m_, end_m_);
}

}  // namespace subcrop::infer
