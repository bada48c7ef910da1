#include "infer/answer/stretch_shift.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <memory>

namespace subcrop::infer {

namespace {

/// Width over which a shift fades, in multiples of the shift. Less than 1.5 would fold the map.
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

std::pair<const StretchShift*, double> SlidStretches::on(Point place) const {
    std::pair<const StretchShift*, double> best{nullptr, 0};
    for (const StretchShift& stretch : stretches) {
        const double share = stretch.trust(place);
        if (share > best.second) best = {&stretch, share};
    }
    return best;
}

Point SlidStretches::mean(Point place) const {
    const StretchShift* const stretch = on(place).first;
    return stretch ? stretch->shift() : Point{};
}

std::array<double, 3> SlidStretches::covariance(Point place) const {
    // Across the stretch its posterior variance, otherwise the error of contacts.
    const auto [stretch, share] = on(place);
    const double variance = amplitude_m * amplitude_m, left = stretch ? stretch->shift_sd_m() : 0;
    const double less = share * std::max(0.0, variance - left * left);
    const Point n = stretch ? stretch->normal() : Point{};
    return {variance - less * n.x * n.x, -less * n.x * n.y, variance - less * n.y * n.y};
}

std::array<double, 4> SlidStretches::gradient(Point place) const {
    constexpr double apart_m = 0.5;
    const auto displacement = [&](Point at) {
        const auto [stretch, share] = on(at);
        const Point u = stretch ? stretch->shift() : Point{};
        return Point{share * u.x, share * u.y};
    };
    const auto slope = [&](Point step) {
        const Point a = displacement({place.x - step.x, place.y - step.y}),
                    b = displacement({place.x + step.x, place.y + step.y});
        return Point{(b.x - a.x) / (2 * apart_m), (b.y - a.y) / (2 * apart_m)};
    };
    const Point across = slope({apart_m, 0}), up = slope({0, apart_m});
    return {across.x, up.x, across.y, up.y};
}

void SlidStretches::draw(Point place, const Eigen::MatrixXd& noise, std::span<Point> draws) const {
    const StretchShift* const stretch = on(place).first;
    const Eigen::Index row = stretch ? stretch - stretches.data() : 0;
    const Point middle = stretch ? stretch->shift() : Point{}, way = stretch ? stretch->normal() : Point{};
    for (Eigen::Index d = 0; d < noise.cols(); ++d) {
        const double off = stretch ? noise(row, d) * stretch->shift_sd_m() : 0;
        draws[2 * static_cast<std::size_t>(d)] = {middle.x + off * way.x, middle.y + off * way.y};
        draws[2 * static_cast<std::size_t>(d) + 1] = {middle.x - off * way.x, middle.y - off * way.y};
    }
}

ShiftField slide_stretches(const std::vector<MisplacedStretch>& stretches, std::span<const Point> places,
                           double stated_sd_m, double still_sd_m, double zone_residual_m, double residual_m) {
    constexpr double max_cells = 300;  // of the lattices, along an axis
    auto slid = std::make_unique<SlidStretches>();
    for (const Point& place : places) slid->box.add(place);
    for (const MisplacedStretch& stretch : stretches) slid->stretches.emplace_back(stretch, stated_sd_m);
    slid->amplitude_m = std::sqrt(std::max(still_sd_m * still_sd_m - zone_residual_m * zone_residual_m, 1.0));
    slid->residual_m = residual_m;
    slid->reach_m = 8 * std::max(stated_sd_m, std::max(slid->box.width(), slid->box.height()) / max_cells);
    ShiftField field;
    field.state = std::move(slid);
    return field;
}

}  // namespace subcrop::infer
