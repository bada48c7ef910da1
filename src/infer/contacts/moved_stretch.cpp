#include "subcrop/infer/moved_stretch.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>
#include <utility>

#include "subcrop/core/planar.hpp"
#include "subcrop/infer/relocate.hpp"

namespace subcrop::infer {

namespace {

Point between(Point a, Point b, double t) { return {std::lerp(a.x, b.x, t), std::lerp(a.y, b.y, t)}; }

/// Builds one stretch, piece by piece along the draft.
class Gathering {
public:
    /// A piece of the draft and of the moved line; `from` and `to` are how far its ends moved, signed, metres. It
    /// begins at `along_m` of the contact.
    void add(const Line& drafted, const Line& moved, double from, double to, double sd_m, double along_m) {
        const double length = distance(drafted[0], drafted[1]);
        if (stretch_.drafted.empty()) {
            stretch_.drafted.push_back(drafted[0]);
            stretch_.moved.push_back(moved[0]);
            stretch_.min_m = stretch_.max_m = std::abs(from);
            stretch_.from_m = along_m;
        }
        stretch_.drafted.push_back(drafted[1]);
        stretch_.moved.push_back(moved[1]);
        stretch_.length_m += length;
        stretch_.shift_m += length * std::abs(from + to) / 2;
        for (const double end : {std::abs(from), std::abs(to)}) {
            stretch_.min_m = std::min(stretch_.min_m, end);
            stretch_.max_m = std::max(stretch_.max_m, end);
        }
        variance_ += length * sd_m * sd_m;
        for (const int end : {0, 1}) {
            towards_.x += length / 2 * (moved[end].x - drafted[end].x);
            towards_.y += length / 2 * (moved[end].y - drafted[end].y);
        }
    }

    bool begun() const { return !stretch_.drafted.empty(); }

    MovedStretch take() {
        MovedStretch done = std::exchange(stretch_, {});
        done.shift_m /= done.length_m;
        done.shift_sd_m = std::sqrt(variance_ / done.length_m);
        if (std::hypot(towards_.x, towards_.y) > 1e-6 * done.length_m) {
            const double azimuth = std::atan2(towards_.x, towards_.y) * 180 / std::numbers::pi;
            done.azimuth_deg = azimuth < 0 ? azimuth + 360 : azimuth;
        }
        done.middle = place_along(done.drafted, done.length_m / 2);
        variance_ = 0;
        towards_ = {};
        return done;
    }

private:
    MovedStretch stretch_;
    double variance_ = 0;
    Point towards_;
};

}  // namespace

std::vector<MovedStretch> moved_stretches(const Line& drafted, const Line& moved, std::span<const double> shifts_m,
                                          std::span<const double> half_widths_m) {
    assert(drafted.size() == moved.size() && drafted.size() == shifts_m.size() &&
           drafted.size() == half_widths_m.size());
    std::vector<MovedStretch> result;
    Gathering gathering;
    const auto end_here = [&] {
        if (!gathering.begun()) return;
        MovedStretch stretch = gathering.take();
        if (stretch.length_m >= stretch.shift_m)
            result.push_back(std::move(stretch));  // a shorter one is a nick, not a stretch of the contact
    };
    double length = 0;
    for (std::size_t i = 1; i < drafted.size(); ++i) {
        if (drafted[i - 1] == drafted[i]) continue;
        const double start = length, edge = distance(drafted[i - 1], drafted[i]);
        length += edge;
        const double from = shifts_m[i - 1], to = shifts_m[i];
        // How far outside the zone the draft lies at either end; linear along the edge.
        const double outside_from = std::abs(from) - half_widths_m[i - 1], outside_to = std::abs(to) - half_widths_m[i];
        const bool one_way = (from < 0) == (to < 0);
        double begin = 0, end = 1;
        if (outside_from <= 0) begin = outside_to > 0 && one_way ? outside_from / (outside_from - outside_to) : 1;
        if (outside_to <= 0) end = outside_from > 0 && one_way ? outside_from / (outside_from - outside_to) : 0;
        if (begin > 0 || !one_way) end_here();
        if (begin >= end || !one_way) continue;
        const double sd = (half_widths_m[i - 1] + half_widths_m[i]) / (2 * half_width_in_sd);
        gathering.add({between(drafted[i - 1], drafted[i], begin), between(drafted[i - 1], drafted[i], end)},
                      {between(moved[i - 1], moved[i], begin), between(moved[i - 1], moved[i], end)},
                      std::lerp(from, to, begin), std::lerp(from, to, end), sd, start + begin * edge);
        if (end < 1) end_here();
    }
    end_here();
    return result;
}

MovedLength moved_length(const Relocation& relocation, const geo::UnitMap& map) {
    MovedLength sum;
    for (const geo::Contact& contact : map.contacts()) sum.of_m += contact.length_m;
    for (const RelocatedContact& contact : relocation.contacts) {
        for (const MovedStretch& stretch : contact.stretches) {
            sum.min_m = sum.stretches == 0 ? stretch.min_m : std::min(sum.min_m, stretch.min_m);
            sum.max_m = std::max(sum.max_m, stretch.max_m);
            sum.mean_m += stretch.length_m * stretch.shift_m;
            sum.length_m += stretch.length_m;
            ++sum.stretches;
        }
    }
    if (sum.length_m > 0) sum.mean_m /= sum.length_m;
    return sum;
}

}  // namespace subcrop::infer
