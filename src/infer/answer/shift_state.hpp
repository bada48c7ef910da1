// The two kinds of shift field: a smooth displacement of the whole map, or single shifted stretches.
#pragma once

#include <Eigen/Core>
#include <array>
#include <span>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

struct ShiftField::State {
    virtual ~State() = default;

    double amplitude_m = 0, reach_m = 0, residual_m = 0;
    Box box;              ///< of the stops
    bool settled = true;  ///< whether the search for the mode ended at a minimum

    // As the functions of ShiftField with the same names.
    virtual Point mean(Point place) const = 0;
    virtual double trust(Point place) const = 0;
    /// `trust` at many places at once.
    virtual std::vector<double> trusts(std::span<const Point> places) const {
        std::vector<double> result;
        for (const Point& place : places) result.push_back(trust(place));
        return result;
    }
    virtual std::array<double, 3> covariance(Point place) const = 0;
    virtual std::array<double, 4> gradient(Point place) const = 0;
    virtual void ready_for_many_places(unsigned /*threads*/) {}

    /// Number of standard normal values for a draw.
    virtual Eigen::Index noise_size() const = 0;
    /// Turns standard normal values (one column for each pair of draws) into the input of `draw`.
    virtual void prepare(Eigen::MatrixXd& /*noise*/) const {}
    /// A pair of displacements for each column, symmetric about the mean.
    virtual void draw(Point place, const Eigen::MatrixXd& noise, std::span<Point> draws) const = 0;
};

}  // namespace subcrop::infer
