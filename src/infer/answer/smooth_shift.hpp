// A smooth displacement of the whole map: Gaussian, on the basis of displacement_basis.hpp, fitted by
// `fit_displacement`.
#pragma once

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

#include "infer/answer/displacement_basis.hpp"
#include "infer/answer/shift_state.hpp"

namespace subcrop::infer {

/// A smooth function from values on a lattice: quadratic B-splines. Their weights are positive and sum to one.
struct TrustLattice {
    double west = 0, south = 0, spacing = 1;
    Eigen::Index columns = 0, rows = 0;
    std::vector<double> values;

    bool ready() const { return !values.empty(); }
    double at(Point place, Point* gradient) const {
        std::array<std::array<double, 3>, 2> weight{}, slope{};
        std::array<Eigen::Index, 2> first{};
        for (std::size_t axis = 0; axis < 2; ++axis) {
            const Eigen::Index count = axis == 0 ? columns : rows;
            const double t = ((axis == 0 ? place.x - west : place.y - south)) / spacing;
            const double nearest = std::clamp(std::round(t), 1.0, static_cast<double>(count - 2));
            const double d = std::clamp(t - nearest, -0.5, 0.5);
            first[axis] = static_cast<Eigen::Index>(nearest) - 1;
            weight[axis] = {0.5 * (0.5 - d) * (0.5 - d), 0.75 - d * d, 0.5 * (0.5 + d) * (0.5 + d)};
            slope[axis] = {-(0.5 - d) / spacing, -2 * d / spacing, (0.5 + d) / spacing};
        }
        double value = 0;
        Point along;
        for (std::size_t j = 0; j < 3; ++j) {
            for (std::size_t i = 0; i < 3; ++i) {
                const double v = values[static_cast<std::size_t>((first[1] + static_cast<Eigen::Index>(j)) * columns +
                                                                 first[0] + static_cast<Eigen::Index>(i))];
                value += v * weight[0][i] * weight[1][j];
                along.x += v * slope[0][i] * weight[1][j];
                along.y += v * weight[0][i] * slope[1][j];
            }
        }
        if (gradient) *gradient = along;
        return value;
    }
};

struct SmoothShift : ShiftField::State {
    DisplacementBasis basis;
    Eigen::VectorXd v;                      ///< posterior mode: x of every node, then y of every node
    Eigen::LLT<Eigen::MatrixXd> precision;  ///< of v, factored
    /// Its inverse, row by row; computed when many places are needed.
    Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> covariance_of_v;
    TrustLattice lattice;  ///< computed when many places are needed

    Eigen::Index nodes() const { return static_cast<Eigen::Index>(basis.size()); }
    Point displacement(const std::vector<DisplacementBasis::Term>& terms, const Eigen::VectorXd& at) const;

    Point mean(Point place) const override;
    double trust(Point place) const override;
    std::array<double, 3> covariance(Point place) const override;
    std::array<double, 4> gradient(Point place) const override;
    void ready_for_many_places(unsigned threads) override;
    std::vector<double> trusts(std::span<const Point> places) const override;
    Eigen::Index noise_size() const override { return v.size(); }
    void prepare(Eigen::MatrixXd& noise) const override;
    void draw(Point place, const Eigen::MatrixXd& noise, std::span<Point> draws) const override;

private:
    /// Trust in a mean `u` with covariance `c`.
    double chance_apart(Point u, const std::array<double, 3>& c) const;
};

}  // namespace subcrop::infer
