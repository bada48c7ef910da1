// A smooth displacement of the draft: the true unit at x is the draft's unit at x + u(x).
//
//     const ShiftField& field = fit.shift.field;
//     Point u = field.displacement(x);    // posterior mean of u where it is more than chance, metres
//     double sd_m = field.sd_m(x);        // its standard deviation along each axis
//     Point truth = field.true_place(y);  // where the drafted point y really lies
//
// u(x) = A sum_m phi_m(x) v_m, with Gaussian bumps phi on nodes 0.75 H and 1.5 H apart. A: amplitude, the standard
// deviation along each axis. H: correlation length; correlation (1 - w) exp(-d^2 / 2 H^2) + w exp(-d^2 / 8 H^2).
// v has independent standard normal entries. The posterior mode is found by L-BFGS, its covariance by Laplace's method.
//
// Not good at: contacts that jump at a fault, displacements beyond 2.5 A, errors that vary over less than H.
// Cross-validation refuses those (shift_choice.hpp).
// If the displacement is refused, single stretches of contact may be shifted (answer/stretch_shift.hpp). The field then
// moves only these.
#pragma once

#include <array>
#include <memory>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

class ShiftField {
public:
    ShiftField();  ///< the field that moves nothing
    ShiftField(ShiftField&&) noexcept;
    ShiftField& operator=(ShiftField&&) noexcept;
    ~ShiftField();

    bool still() const;  ///< moves nothing
    double amplitude_m() const;
    double reach_m() const;
    double residual_m() const;
    /// Posterior mean of u.
    Point mean(Point place) const;
    /// The displacement adopted: `mean` times `trust`.
    Point displacement(Point place) const;
    /// The share of the mean that is adopted, 0 to 1. So right parts of a draft stay as drawn while others move. If the
    /// draft is right here, the mean has covariance V = C - C^2 / A^2 (C: posterior covariance). Then z^2 = mean' V^-1
    /// mean is chi-square with two degrees of freedom. With z^2 below 2 nothing is adopted, from 6 (probability 1 in
    /// 20) all of it.
    double trust(Point place) const;
    /// Posterior covariance of the displacement: xx, xy, yy, square metres.
    std::array<double, 3> covariance(Point place) const;
    /// Makes `covariance` and `trust` fast for thousands of places. `trust` then comes from a lattice of step H/6.
    void ready_for_many_places(unsigned threads = 1);
    double sd_m(Point place) const;  ///< root of half the trace of `covariance`
    /// Derivatives du_x/dx, du_x/dy, du_y/dx, du_y/dy. After `ready_for_many_places` u is `displacement`, before it is
    /// `mean`.
    std::array<double, 4> gradient(Point place) const;
    /// Where the drafted point really lies: x with x + u(x) = drafted.
    Point true_place(Point drafted) const;
    /// Whether the search for the mode ended at a minimum (and not at its step limit).
    bool settled() const;

    struct State;
    std::unique_ptr<State> state;
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
