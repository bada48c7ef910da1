#include "infer/answer/smooth_shift.hpp"

#include <utility>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

/// Between these values of z squared the adopted part of the mean displacement rises from 0 to 1. Measured by
/// tests/bench/invented_shift: on right drafts at most 0.4 % of the area then changes (without it 0.7 to 3 %). On wrong
/// drafts as much is corrected as without it.
constexpr double left_aside_below = 2, adopted_from = 6;

}  // namespace

Point SmoothShift::displacement(const std::vector<DisplacementBasis::Term>& terms, const VectorXd& at) const {
    Point u;
    for (const auto& term : terms) {
        u.x += amplitude_m * term.value * at[term.node];
        u.y += amplitude_m * term.value * at[nodes() + term.node];
    }
    return u;
}

double SmoothShift::chance_apart(Point u, const std::array<double, 3>& c) const {
    const double variance = amplitude_m * amplitude_m;
    // V and its inverse share the principal axes of C; along each the variance v of C becomes v - v^2 / A^2.
    const double middle = (c[0] + c[2]) / 2, half = (c[0] - c[2]) / 2, radius = std::hypot(half, c[1]);
    const double angle = std::atan2(c[1], half) / 2;
    const Point axis{std::cos(angle), std::sin(angle)};
    auto strays = [&](double along_axis) {
        return std::max(along_axis - along_axis * along_axis / variance, 0.01 * variance);
    };
    const double along = u.x * axis.x + u.y * axis.y, across = u.y * axis.x - u.x * axis.y;
    const double z_squared = along * along / strays(middle + radius) + across * across / strays(middle - radius);
    return std::clamp((z_squared - left_aside_below) / (adopted_from - left_aside_below), 0.0, 1.0);
}

Point SmoothShift::mean(Point place) const {
    std::vector<DisplacementBasis::Term> terms;
    basis.at(place, terms);
    return displacement(terms, v);
}

double SmoothShift::trust(Point place) const {
    return lattice.ready() ? lattice.at(place, nullptr) : chance_apart(mean(place), covariance(place));
}

std::vector<double> SmoothShift::trusts(std::span<const Point> places) const {
    std::vector<double> result(places.size());
    // Solved for many places together, so that the factor is read once for all.
    constexpr std::size_t together = 64;
    const Index n = nodes();
    const bool one_by_one = lattice.ready() || covariance_of_v.size() > 0;
    std::vector<DisplacementBasis::Term> terms;
    for (std::size_t begin = 0; begin < places.size(); begin += together) {
        const std::size_t end = std::min(places.size(), begin + together);
        if (one_by_one) {
            for (std::size_t i = begin; i < end; ++i) result[i] = trust(places[i]);
            continue;
        }
        MatrixXd at = MatrixXd::Zero(2 * n, 2 * static_cast<Index>(end - begin));
        std::vector<Point> means;
        for (std::size_t i = begin; i < end; ++i) {
            const Index column = 2 * static_cast<Index>(i - begin);
            basis.at(places[i], terms);
            means.push_back(displacement(terms, v));
            for (const auto& term : terms) {
                at(term.node, column) = term.value;
                at(n + term.node, column + 1) = term.value;
            }
        }
        precision.matrixL().solveInPlace(at);
        for (std::size_t i = begin; i < end; ++i) {
            const auto x = at.col(2 * static_cast<Index>(i - begin)), y = at.col(2 * static_cast<Index>(i - begin) + 1);
            const double variance = amplitude_m * amplitude_m;
            result[i] = chance_apart(means[i - begin],
                                     {x.squaredNorm() * variance, x.dot(y) * variance, y.squaredNorm() * variance});
        }
    }
    return result;
}

std::array<double, 3> SmoothShift::covariance(Point place) const {
    std::vector<DisplacementBasis::Term> terms;
    basis.at(place, terms);
    std::array<double, 3> result{};
    const Index n = nodes();
    if (covariance_of_v.size() == 0) {
        MatrixXd at = MatrixXd::Zero(2 * n, 2);
        for (const auto& term : terms) {
            at(term.node, 0) = term.value;
            at(n + term.node, 1) = term.value;
        }
        precision.matrixL().solveInPlace(at);
        result = {at.col(0).squaredNorm(), at.col(0).dot(at.col(1)), at.col(1).squaredNorm()};
    }
    const auto& c = covariance_of_v;
    for (const auto& a : terms) {
        if (c.size() == 0) break;
        for (const auto& b : terms) {
            const double product = a.value * b.value;
            result[0] += product * c(a.node, b.node);
            result[1] += product * c(a.node, n + b.node);
            result[2] += product * c(n + a.node, n + b.node);
        }
    }
    for (double& x : result) x *= amplitude_m * amplitude_m;
    return result;
}

void SmoothShift::ready_for_many_places(unsigned threads) {
    const Index size = 2 * nodes();
    const MatrixXd inverse = precision.solve(MatrixXd::Identity(size, size));
    covariance_of_v = inverse;  // solved column by column, so that results keep their digits
    TrustLattice made;
    made.spacing = reach_m / 6;
    made.west = box.min_x - 2 * reach_m;
    made.south = box.min_y - 2 * reach_m;
    made.columns = 3 + static_cast<Index>((box.width() + 4 * reach_m) / made.spacing);
    made.rows = 3 + static_cast<Index>((box.height() + 4 * reach_m) / made.spacing);
    std::vector<double> values(static_cast<std::size_t>(made.columns * made.rows));
    parallel_blocks(values.size(), 64, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            const auto column = static_cast<Index>(i) % made.columns, row = static_cast<Index>(i) / made.columns;
            const bool rim = column < 2 || row < 2 || column >= made.columns - 2 || row >= made.rows - 2;
            if (rim) continue;  // beyond it nothing moves
            values[i] = trust({made.west + made.spacing * static_cast<double>(column),
                               made.south + made.spacing * static_cast<double>(row)});
        }
    });
    made.values = std::move(values);
    lattice = std::move(made);
}

std::array<double, 4> SmoothShift::gradient(Point place) const {
    std::array<double, 4> result{};
    std::vector<DisplacementBasis::Term> terms;
    basis.at(place, terms);
    for (const auto& term : terms) {
        const double vx = amplitude_m * v[term.node];
        const double vy = amplitude_m * v[nodes() + term.node];
        result[0] += vx * term.gradient.x;
        result[1] += vx * term.gradient.y;
        result[2] += vy * term.gradient.x;
        result[3] += vy * term.gradient.y;
    }
    if (lattice.ready()) {
        const Point u = displacement(terms, v);
        Point slope;
        const double share = lattice.at(place, &slope);
        result = {share * result[0] + u.x * slope.x, share * result[1] + u.x * slope.y,
                  share * result[2] + u.y * slope.x, share * result[3] + u.y * slope.y};
    }
    return result;
}

void SmoothShift::prepare(MatrixXd& noise) const { precision.matrixU().solveInPlace(noise); }  // covariance (L L')^-1

void SmoothShift::draw(Point place, const MatrixXd& noise, std::span<Point> draws) const {
    std::vector<DisplacementBasis::Term> terms;
    basis.at(place, terms);
    const Point middle = displacement(terms, v);
    for (Index d = 0; d < noise.cols(); ++d) {
        Point off;
        for (const auto& term : terms) {
            off.x += amplitude_m * term.value * noise(term.node, d);
            off.y += amplitude_m * term.value * noise(nodes() + term.node, d);
        }
        draws[2 * static_cast<std::size_t>(d)] = {middle.x + off.x, middle.y + off.y};
        draws[2 * static_cast<std::size_t>(d) + 1] = {middle.x - off.x, middle.y - off.y};
    }
}

}  // namespace subcrop::infer
