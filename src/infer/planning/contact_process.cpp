#include "infer/planning/contact_process.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "infer/statistics/normal.hpp"
#include "subcrop/core/planar.hpp"

namespace subcrop::infer {

namespace {

/// Mean absolute value of a standard normal.
const double mean_absolute = std::sqrt(2 / std::numbers::pi);

}  // namespace

ContactProcess::ContactProcess(const Line& line, const ContactProcessOptions& options, std::span<const double> sd_m)
    : line_(line), right_within_m_(options.right_within_m), reach_m_(options.reach_m) {
    assert(line.size() > 1 && options.reach_m > 0 && (sd_m.size() == 1 || sd_m.size() == line.size()));
    std::vector<double> chainage{0};
    for (std::size_t i = 1; i < line.size(); ++i) chainage.push_back(chainage.back() + distance(line[i - 1], line[i]));
    const double length = chainage.back();
    const auto pieces =
        static_cast<std::size_t>(std::ceil(length * static_cast<double>(options.nodes_in_reach) / options.reach_m));
    const std::size_t count = std::clamp<std::size_t>(pieces, 1, options.max_nodes);
    std::vector<double> sd;
    std::size_t at = 1;
    for (std::size_t k = 0; k < count; ++k) {
        const double s = length * (static_cast<double>(k) + 0.5) / static_cast<double>(count);
        while (at + 1 < line.size() && chainage[at] < s) ++at;
        const Point a = line[at - 1], b = line[at];
        const double step = chainage[at] - chainage[at - 1], t = step > 0 ? (s - chainage[at - 1]) / step : 0;
        // Direction over the node's whole stretch, so that small bends do not turn it.
        const double half = length / static_cast<double>(count) / 2;
        const auto where = [&](double c) {
            const double wanted = std::clamp(c, 0.0, length);
            const auto next = static_cast<std::size_t>(
                std::lower_bound(chainage.begin() + 1, chainage.end() - 1, wanted) - chainage.begin());
            const double d = chainage[next] - chainage[next - 1], u = d > 0 ? (wanted - chainage[next - 1]) / d : 0;
            return Point{std::lerp(line[next - 1].x, line[next].x, u), std::lerp(line[next - 1].y, line[next].y, u)};
        };
        const Point from = where(s - half), to = where(s + half);
        double dx = to.x - from.x, dy = to.y - from.y, d = std::hypot(dx, dy);
        if (d <= 0) {
            dx = b.x - a.x, dy = b.y - a.y, d = std::hypot(dx, dy);
        }
        nodes_.push_back({{std::lerp(a.x, b.x, t), std::lerp(a.y, b.y, t)},
                          d > 0 ? Point{-dy / d, dx / d} : Point{0, 1},
                          length / static_cast<double>(count)});
        along_.push_back(s);
        sd.push_back(sd_m.size() == 1 ? sd_m[0] : std::lerp(sd_m[at - 1], sd_m[at], t));
    }
    mean_.assign(count, 0.0);
    right_.assign(count, options.right_share);
    covariance_.assign(count * count, 0.0);
    for (std::size_t i = 0; i < count; ++i) {
        for (std::size_t j = 0; j < count; ++j) {
            const double d = (along_[i] - along_[j]) / options.reach_m;
            covariance(i, j) = sd[i] * sd[j] * std::exp(-d * d / 2);
        }
    }
}

double ContactProcess::sd_m(std::size_t node) const { return std::sqrt(std::max(0.0, covariance(node, node))); }

double ContactProcess::error(double mean, double sd, double right) {
    return mean_absolute * std::sqrt((1 - right) * (sd * sd + right * mean * mean));
}

Point ContactProcess::place(std::size_t node) const {
    const Node& n = nodes_[node];
    const double offset = estimate_m(node);
    return {n.place.x + offset * n.left.x, n.place.y + offset * n.left.y};
}

std::pair<std::size_t, double> ContactProcess::seat(Point place) const {
    const NearestOnLine nearest = nearest_on(line_, place);
    const Point a = line_[nearest.edge - 1], b = line_[nearest.edge];
    const double offset =
        (b.x - a.x) * (place.y - a.y) - (b.y - a.y) * (place.x - a.x) >= 0 ? nearest.off_m : -nearest.off_m;
    const double step = nodes_.front().length_m;
    return {std::min(nodes_.size() - 1, static_cast<std::size_t>(nearest.along_m / step)), offset};
}

ContactProcess::Heard ContactProcess::listen(std::size_t node, double offset_m, double position_sd_m,
                                             double likelihood_left, double likelihood_right) const {
    Heard heard;
    const double s = std::sqrt(std::max(0.0, covariance(node, node)) + position_sd_m * position_sd_m),
                 difference = likelihood_left - likelihood_right;
    const double s_right = std::hypot(right_within_m_, position_sd_m);
    if (s <= 0) return heard;
    const double z = (offset_m - mean_[node]) / s;
    heard.evidence = likelihood_right + difference * normal_cdf(z);
    heard.evidence_if_right = likelihood_right + difference * normal_cdf(offset_m / s_right);
    if (heard.evidence <= 0) return heard;
    heard.slope = -difference * normal_density(z) / (s * heard.evidence);
    heard.bend = -difference * z * normal_density(z) / (s * s * heard.evidence) - heard.slope * heard.slope;
    return heard;
}

double ContactProcess::right_after(std::size_t i, std::size_t j, const Heard& heard) const {
    if (right_[j] <= 0 || right_[j] >= 1 || heard.evidence <= 0 || heard.evidence_if_right <= 0) return right_[j];
    const double d = (along_[i] - along_[j]) / reach_m_, alike = std::exp(-d * d / 2);
    return 1 / (1 + (1 - right_[j]) / right_[j] * std::pow(heard.evidence / heard.evidence_if_right, alike));
}

void ContactProcess::hear(std::size_t node, double offset_m, double position_sd_m, double likelihood_left,
                          double likelihood_right) {
    const Heard heard = listen(node, offset_m, position_sd_m, likelihood_left, likelihood_right);
    if (heard.evidence <= 0) return;
    const std::size_t n = nodes_.size();
    for (std::size_t j = 0; j < n; ++j) right_[j] = right_after(node, j, heard);
    std::vector<double> row(n);
    for (std::size_t j = 0; j < n; ++j) row[j] = covariance(node, j);
    for (std::size_t j = 0; j < n; ++j) {
        mean_[j] += row[j] * heard.slope;
        for (std::size_t k = 0; k < n; ++k) covariance(j, k) += row[j] * row[k] * heard.bend;
    }
}

/// Fall of the process's covariance by a visit, divided by the product of the covariances with the node. At the most
/// probable place of the process Phi is one half, whatever is found. So the second derivative above is -(2 / pi) ((E_l
/// - E_r) / (E_l + E_r))^2 / s^2.
double ContactProcess::narrowing(std::size_t node, double position_sd_m, double discernment) const {
    const double variance = covariance(node, node) + position_sd_m * position_sd_m;
    return variance > 0 ? 2 / std::numbers::pi * discernment / variance : 0;
}

double ContactProcess::gain_m2(std::size_t node, double position_sd_m, double discernment) const {
    double gain = 0;
    if (discernment <= 0) return gain;  // it is zero except for rounding
    for (std::size_t j = 0; j < nodes_.size(); ++j) gain += nodes_[j].length_m * error(mean_[j], sd_m(j), right_[j]);
    const double offset = estimate_m(node),
                 wrong = (1 - std::sqrt(discernment)) / 2;  // how often the notes support the other side
    for (const double left : {1 - wrong, wrong}) {
        const Heard heard = listen(node, offset, position_sd_m, left, 1 - left);
        for (std::size_t j = 0; j < nodes_.size(); ++j) {
            const double shared = covariance(node, j),
                         variance = std::max(0.0, covariance(j, j) + shared * shared * heard.bend);
            gain -= heard.total(right_[node]) * nodes_[j].length_m *
                    error(mean_[j] + shared * heard.slope, std::sqrt(variance), right_after(node, j, heard));
        }
    }
    return gain;
}

void ContactProcess::plan(std::size_t node, double position_sd_m, double discernment) {
    const double factor = narrowing(node, position_sd_m, discernment);
    const std::size_t n = nodes_.size();
    std::vector<double> row(n);
    for (std::size_t j = 0; j < n; ++j) row[j] = covariance(node, j);
    for (std::size_t j = 0; j < n; ++j)
        for (std::size_t k = 0; k < n; ++k) covariance(j, k) -= factor * row[j] * row[k];
}

}  // namespace subcrop::infer
