#include "infer/answer/moved_draft.hpp"

#include <algorithm>
#include <cmath>

#include "infer/answer/contact_error.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// The map may be compressed to this share of its area, no more.
constexpr double min_determinant = 0.1;
/// A place moved by less than this share of the contacts' error stays as drawn. From twice that share on it moves in
/// full.
constexpr double min_move = 0.05;

Point worth_moving(Point shift, double min_m) {
    const double length = std::hypot(shift.x, shift.y);
    if (length >= 2 * min_m) return shift;
    const double share = length <= min_m ? 0 : 2 * (length - min_m) / length;
    return {share * shift.x, share * shift.y};
}

/// The field, partly damped: displacement times a factor that falls to one half about each centre.
struct DampedField {
    const ShiftField& field;
    std::vector<Point> centres = {};
    double overall = 1;

    struct At {
        Point u;
        std::array<double, 4> jacobian{};
        double determinant = 1;
    };
    At at(Point x) const {
        Point u = field.displacement(x);
        std::array<double, 4> g = field.gradient(x);
        double factor = overall;
        Point slope;  // of ln factor
        const double width = field.reach_m();
        for (const Point c : centres) {
            const double dx = x.x - c.x, dy = x.y - c.y;
            const double dip = 0.5 * std::exp(-(dx * dx + dy * dy) / (2 * width * width));
            factor *= 1 - dip;
            slope.x += dip / (1 - dip) * dx / (width * width);
            slope.y += dip / (1 - dip) * dy / (width * width);
        }
        At result;
        result.u = {factor * u.x, factor * u.y};
        result.jacobian = {1 + factor * (g[0] + u.x * slope.x), factor * (g[1] + u.x * slope.y),
                           factor * (g[2] + u.y * slope.x), 1 + factor * (g[3] + u.y * slope.y)};
        const auto& j = result.jacobian;
        result.determinant = j[0] * j[3] - j[1] * j[2];
        return result;
    }
    /// x with x + u(x) = drafted, by Newton's method.
    Point true_place(Point drafted) const {
        if (centres.empty() && overall >= 1) return field.true_place(drafted);
        Point x = drafted;
        for (int iteration = 0; iteration < 100; ++iteration) {
            const At here = at(x);
            const Point miss{drafted.x - x.x - here.u.x, drafted.y - x.y - here.u.y};
            if (std::hypot(miss.x, miss.y) < 1e-6) break;
            const auto& j = here.jacobian;
            if (here.determinant > 0.2) {
                x.x += (j[3] * miss.x - j[1] * miss.y) / here.determinant;
                x.y += (j[0] * miss.y - j[2] * miss.x) / here.determinant;
            } else {
                x.x += 0.5 * miss.x;
                x.y += 0.5 * miss.y;
            }
        }
        return x;
    }
};

/// Places near the edge of the map move only along it. Within four times the shift its component across the edge falls
/// to zero.
double across_edge(double shift, double from_low, double from_high) {
    const double t = std::clamp(std::min(from_low, from_high) / std::max(4 * std::abs(shift), 1e-9), 0.0, 1.0);
    return shift * t * t * (3 - 2 * t);
}

double outside(double value, double low, double high) { return std::max({0.0, low - value, value - high}); }

/// The covariance that the stops' evidence leaves of a prior variance `wide`, if it left `c` of the smaller prior
/// variance `narrow`.
std::array<double, 3> under_wider_prior(const std::array<double, 3>& c, double narrow, double wide) {
    const double middle = (c[0] + c[2]) / 2, half = (c[0] - c[2]) / 2, radius = std::hypot(half, c[1]);
    auto widened = [&](double variance) {
        const double taught = std::max(0.0, 1 / std::max(variance, 1e-9 * narrow) - 1 / narrow);
        return 1 / (taught + 1 / wide);
    };
    const double great = widened(middle + radius), small = widened(middle - radius);
    const double cosine = radius > 0 ? half / radius : 0, sine = radius > 0 ? c[1] / radius : 0;  // of twice the angle
    const double mean = (great + small) / 2, spread = (great - small) / 2;
    return {mean + spread * cosine, spread * sine, mean - spread * cosine};
}

double cross(Point a, Point b, Point c) { return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x); }

}  // namespace

MovedDraft::MovedDraft(const ShiftField& field, double contact_sd_m, double stated_sd_m, const Box& stops,
                       const Box& map, unsigned threads) {
    const double reach = field.reach_m();
    map_ = map;
    spacing_ = reach / 12;
    step_m_ = reach / 20;
    // Three reaches beyond the start of fading the field is almost zero.
    const double margin = 4 * reach;
    box_.add(Point{std::max(stops.min_x - margin, map.min_x), std::max(stops.min_y - margin, map.min_y)});
    box_.add(Point{std::min(stops.max_x + margin, map.max_x), std::min(stops.max_y + margin, map.max_y)});
    columns_ = 2 + static_cast<std::size_t>(std::max(0.0, box_.width()) / spacing_);
    rows_ = 2 + static_cast<std::size_t>(std::max(0.0, box_.height()) / spacing_);
    nodes_.resize(columns_ * rows_);
    auto drafted = [&](std::size_t i) {
        return Point{box_.min_x + spacing_ * static_cast<double>(i % columns_),
                     box_.min_y + spacing_ * static_cast<double>(i / columns_)};
    };

    DampedField damped{field};
    std::vector<std::uint8_t> folded(nodes_.size());
    const double amplitude_squared = field.amplitude_m() * field.amplitude_m();
    const double residual_m = zone_residual_m(field.residual_m(), contact_sd_m, stated_sd_m, AnswerSettings());
    const double residual_squared = residual_m * residual_m;
    const double stated_squared = std::max(amplitude_squared, contact_sd_m * contact_sd_m - residual_squared);
    for (int round = 0;; ++round) {
        parallel_blocks(nodes_.size(), 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t i = begin; i < end; ++i) {
                const Point y = drafted(i), x = damped.true_place(y);
                const DampedField::At here = damped.at(x);
                folded[i] = here.determinant <= min_determinant;
                const double dx = outside(y.x, stops.min_x - reach, stops.max_x + reach);
                const double dy = outside(y.y, stops.min_y - reach, stops.max_y + reach);
                const double kept = std::exp(-(dx * dx + dy * dy) / (2 * reach * reach));
                Node& node = nodes_[i];
                node.shift = worth_moving({kept * (x.x - y.x), kept * (x.y - y.y)}, min_move * contact_sd_m);
                node.shift.x = across_edge(node.shift.x, y.x - map.min_x, map.max_x - y.x);
                node.shift.y = across_edge(node.shift.y, y.y - map.min_y, map.max_y - y.y);
                // With y = x + u(x) known, an error of u moves x by -J^-1 times that error. The damped part is an error
                // too.
                const auto c = under_wider_prior(field.covariance(x), amplitude_squared, stated_squared);
                const Point full = field.displacement(x);
                const Point lost{full.x - here.u.x, full.y - here.u.y};
                const double xx = c[0] + lost.x * lost.x, xy = c[1] + lost.x * lost.y, yy = c[2] + lost.y * lost.y;
                const double determinant = std::max(here.determinant, min_determinant);
                const double a = here.jacobian[3] / determinant, b = -here.jacobian[1] / determinant;
                const double p = -here.jacobian[2] / determinant, q = here.jacobian[0] / determinant;
                const double faded = (1 - kept * kept) * stated_squared + residual_squared;
                const double k = kept * kept;
                node.covariance = {k * (a * a * xx + 2 * a * b * xy + b * b * yy) + faded,
                                   k * (a * p * xx + (a * q + b * p) * xy + b * q * yy),
                                   k * (p * p * xx + 2 * p * q * xy + q * q * yy) + faded};
            }
        });
        // Each half of each cell must keep its orientation, for both diagonals.
        auto moved = [&](std::size_t i) {
            return Point{drafted(i).x + nodes_[i].shift.x, drafted(i).y + nodes_[i].shift.y};
        };
        for (std::size_t row = 0; row + 1 < rows_; ++row) {
            for (std::size_t column = 0; column + 1 < columns_; ++column) {
                const std::size_t i = row * columns_ + column;
                const Point sw = moved(i), se = moved(i + 1), nw = moved(i + columns_), ne = moved(i + columns_ + 1);
                if (cross(sw, se, nw) <= 0 || cross(se, ne, sw) <= 0 || cross(ne, nw, se) <= 0 ||
                    cross(nw, sw, ne) <= 0)
                    folded[i] = 1;
            }
        }
        if (std::find(folded.begin(), folded.end(), 1) == folded.end()) break;
        std::vector<Point> fresh;
        for (std::size_t i = 0; i < nodes_.size(); ++i) {
            const Point y = drafted(i);
            auto far = [&](Point c) { return distance(c, y) > reach; };
            if (!folded[i]) continue;
            if (std::all_of(fresh.begin(), fresh.end(), far)) fresh.push_back(y);
            if (std::all_of(damped_.begin(), damped_.end(), far)) damped_.push_back(y);
        }
        // Damping one place may make the field next to it steeper. If some rounds do not help, the whole field is
        // damped.
        if (round < 8)
            damped.centres.insert(damped.centres.end(), fresh.begin(), fresh.end());
        else
            damped.overall *= 0.7;
    }
}

MovedDraft::Seat MovedDraft::seat(Point drafted) const {
    const double column = std::clamp((drafted.x - box_.min_x) / spacing_, 0.0, static_cast<double>(columns_ - 1));
    const double row = std::clamp((drafted.y - box_.min_y) / spacing_, 0.0, static_cast<double>(rows_ - 1));
    const std::size_t c = std::min(static_cast<std::size_t>(column), columns_ - 2),
                      r = std::min(static_cast<std::size_t>(row), rows_ - 2);
    return {r * columns_ + c, column - static_cast<double>(c), row - static_cast<double>(r)};
}

Point MovedDraft::place(Point drafted) const {
    const Seat s = seat(drafted);
    const Point sw = nodes_[s.corner].shift, se = nodes_[s.corner + 1].shift;
    const Point nw = nodes_[s.corner + columns_].shift, ne = nodes_[s.corner + columns_ + 1].shift;
    const double x =
        (1 - s.up) * ((1 - s.right) * sw.x + s.right * se.x) + s.up * ((1 - s.right) * nw.x + s.right * ne.x);
    const double y =
        (1 - s.up) * ((1 - s.right) * sw.y + s.right * se.y) + s.up * ((1 - s.right) * nw.y + s.right * ne.y);
    // The lattice does not end at the map edge, so places on the edge are kept on it.
    const bool on_side = drafted.x == map_.min_x || drafted.x == map_.max_x,
               on_end = drafted.y == map_.min_y || drafted.y == map_.max_y;
    return {drafted.x + (on_side ? 0 : x), drafted.y + (on_end ? 0 : y)};
}

std::array<double, 3> MovedDraft::covariance(Point drafted) const {
    const Seat s = seat(drafted);
    std::array<double, 3> result{};
    for (std::size_t k = 0; k < 3; ++k) {
        auto at = [&](std::size_t i) { return nodes_[i].covariance[k]; };
        result[k] = (1 - s.up) * ((1 - s.right) * at(s.corner) + s.right * at(s.corner + 1)) +
                    s.up * ((1 - s.right) * at(s.corner + columns_) + s.right * at(s.corner + columns_ + 1));
    }
    return result;
}

}  // namespace subcrop::infer
