#include "subcrop/infer/shift_field.hpp"

#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

#include "infer/answer/displacement.hpp"

namespace subcrop::infer {

using Eigen::Index;
using Eigen::MatrixXd;

ShiftField::ShiftField() : state(std::make_unique<State>()) {}
ShiftField::ShiftField(ShiftField&&) noexcept = default;
ShiftField& ShiftField::operator=(ShiftField&&) noexcept = default;
ShiftField::~ShiftField() = default;

bool ShiftField::still() const { return state->amplitude_m <= 0; }
double ShiftField::amplitude_m() const { return state->amplitude_m; }
double ShiftField::reach_m() const { return state->reach_m; }
double ShiftField::residual_m() const { return state->residual_m; }
bool ShiftField::settled() const { return still() || state->search.settled; }

Point ShiftField::mean(Point place) const {
    if (still()) return {};
    if (!state->stretches.empty()) {
        const StretchShift* const stretch = state->on_stretch(place).first;
        return stretch ? stretch->shift() : Point{};
    }
    std::vector<DisplacementBasis::Term> terms;
    state->basis.at(place, terms);
    return state->displacement(terms, state->v);
}

Point ShiftField::displacement(Point place) const {
    const Point u = mean(place);
    const double share = trust(place);
    return {share * u.x, share * u.y};
}

double ShiftField::trust(Point place) const {
    if (still()) return 0;
    if (state->trust.ready()) return state->trust.at(place, nullptr);
    return state->stretches.empty() ? state->chance_apart(mean(place), covariance(place)) : state->on_stretch(place).second;
}

std::array<double, 3> ShiftField::covariance(Point place) const {
    if (still()) return {};
    if (!state->stretches.empty()) {
        // Across the stretch what its stops leave open, else the error of contacts.
        const auto [stretch, share] = state->on_stretch(place);
        const double variance = state->amplitude_m * state->amplitude_m, left = stretch ? stretch->shift_sd_m() : 0;
        const double less = share * std::max(0.0, variance - left * left);
        const Point n = stretch ? stretch->normal() : Point{};
        return {variance - less * n.x * n.x, -less * n.x * n.y, variance - less * n.y * n.y};
    }
    std::vector<DisplacementBasis::Term> terms;
    state->basis.at(place, terms);
    std::array<double, 3> result{};
    const Index n = state->nodes();
    if (state->covariance.size() == 0) {
        MatrixXd at = MatrixXd::Zero(2 * n, 2);
        for (const auto& term : terms) {
            at(term.node, 0) = term.value;
            at(n + term.node, 1) = term.value;
        }
        state->precision.matrixL().solveInPlace(at);
        result = {at.col(0).squaredNorm(), at.col(0).dot(at.col(1)), at.col(1).squaredNorm()};
    }
    const MatrixXd& c = state->covariance;
    for (const auto& a : terms) {
        if (c.size() == 0) break;
        for (const auto& b : terms) {
            const double product = a.value * b.value;
            result[0] += product * c(a.node, b.node);
            result[1] += product * c(a.node, n + b.node);
            result[2] += product * c(n + a.node, n + b.node);
        }
    }
    for (double& x : result) x *= state->amplitude_m * state->amplitude_m;
    return result;
}

void ShiftField::ready_for_many_places() {
    if (still() || !state->stretches.empty()) return;
    const Index size = 2 * state->nodes();
    state->covariance = state->precision.solve(MatrixXd::Identity(size, size));
    TrustLattice lattice;
    lattice.spacing = state->reach_m / 6;
    lattice.west = state->box.min_x - 2 * state->reach_m;
    lattice.south = state->box.min_y - 2 * state->reach_m;
    lattice.columns = 3 + static_cast<Index>((state->box.width() + 4 * state->reach_m) / lattice.spacing);
    lattice.rows = 3 + static_cast<Index>((state->box.height() + 4 * state->reach_m) / lattice.spacing);
    std::vector<double> values(static_cast<std::size_t>(lattice.columns * lattice.rows));
    for (std::size_t i = 0; i < values.size(); ++i) {
        const auto column = static_cast<Index>(i) % lattice.columns, row = static_cast<Index>(i) / lattice.columns;
        const bool rim = column < 2 || row < 2 || column >= lattice.columns - 2 || row >= lattice.rows - 2;
        if (rim) continue;  // beyond it nothing moves
        values[i] = trust({lattice.west + lattice.spacing * static_cast<double>(column),
                           lattice.south + lattice.spacing * static_cast<double>(row)});
    }
    lattice.values = std::move(values);
    state->trust = std::move(lattice);
}

double ShiftField::sd_m(Point place) const {
    const auto c = covariance(place);
    return std::sqrt(std::max(0.0, (c[0] + c[2]) / 2));
}

std::array<double, 4> ShiftField::gradient(Point place) const {
    std::array<double, 4> result{};
    if (still()) return result;
    if (!state->stretches.empty()) {
        constexpr double apart_m = 0.5;
        const auto slope = [&](Point step) {
            const Point a = displacement({place.x - step.x, place.y - step.y}), b = displacement({place.x + step.x, place.y + step.y});
            return Point{(b.x - a.x) / (2 * apart_m), (b.y - a.y) / (2 * apart_m)};
        };
        const Point across = slope({apart_m, 0}), up = slope({0, apart_m});
        return {across.x, up.x, across.y, up.y};
    }
    std::vector<DisplacementBasis::Term> terms;
    state->basis.at(place, terms);
    for (const auto& term : terms) {
        const double vx = state->amplitude_m * state->v[term.node];
        const double vy = state->amplitude_m * state->v[state->nodes() + term.node];
        result[0] += vx * term.gradient.x;
        result[1] += vx * term.gradient.y;
        result[2] += vy * term.gradient.x;
        result[3] += vy * term.gradient.y;
    }
    if (state->trust.ready()) {
        const Point u = state->displacement(terms, state->v);
        Point slope;
        const double share = state->trust.at(place, &slope);
        result = {share * result[0] + u.x * slope.x, share * result[1] + u.x * slope.y,
                  share * result[2] + u.y * slope.x, share * result[3] + u.y * slope.y};
    }
    return result;
}

Point ShiftField::true_place(Point drafted) const {
    if (still()) return drafted;
    // x + u(x) = drafted by Newton's method; where the field is steep it falls back to plain iteration, which contracts
    // for any field that does not fold.
    Point x = drafted;
    for (int iteration = 0; iteration < 50; ++iteration) {
        const Point u = displacement(x);
        const Point miss{drafted.x - x.x - u.x, drafted.y - x.y - u.y};
        if (std::hypot(miss.x, miss.y) < 1e-6) break;
        const auto g = gradient(x);
        const double a = 1 + g[0], b = g[1], c = g[2], d = 1 + g[3], determinant = a * d - b * c;
        if (determinant > 0.2) {
            x.x += (d * miss.x - b * miss.y) / determinant;
            x.y += (a * miss.y - c * miss.x) / determinant;
        } else {
            x.x += 0.5 * miss.x;
            x.y += 0.5 * miss.y;
        }
    }
    return x;
}

}  // namespace subcrop::infer
