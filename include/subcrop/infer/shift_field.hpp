// A smooth displacement of the draft: the truth at x is the draft at x + u(x).
//
//     const ShiftField& field = fit.shift.field;
//     field.displacement(x)        // posterior mean of u where it is more than chance, metres
//     field.sd_m(x)                // its standard deviation along each axis
//     field.true_place(y)          // where the drafted point y really lies
//
// u(x) = A sum_m phi_m(x) v_m, with Gaussian bumps phi on nodes 0.75 H and 1.5 H apart, scaled so that u has the
// standard deviation A along each axis everywhere and the correlation (1 - w) exp(-d^2 / 2 H^2) + w exp(-d^2 / 8 H^2).
// v has independent standard normal entries. The posterior mode is found by L-BFGS, its covariance by Laplace's method.
//
// Not good at: contacts that jump at a fault (the field is smooth), displacements beyond 2.5 A, and drafts drawn from
// so few outcrops that their errors wave more shortly than H; cross-validation refuses those (shift_choice.hpp).
// Where it is refused single stretches of contact may slide (answer/stretch_shift.hpp); the field then moves them
// alone.
#pragma once

#include <array>
#include <memory>

#include "subcrop/core/geometry.hpp"

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
    /// How far the mean is adopted, 0 to 1. If the draft were right here, the mean would still stray, with the
    /// covariance V = C - C^2 / A^2 (C the posterior covariance); by z^2 = mean' V^-1 mean, which is then chi-square
    /// with two degrees of freedom, the mean is left aside below 2 and adopted in full from 6, where chance takes it
    /// once in twenty. So parts of a draft that are right stay as drawn while others move.
    double trust(Point place) const;
    /// Posterior covariance of the displacement: xx, xy, yy, square metres.
    std::array<double, 3> covariance(Point place) const;
    /// Makes `covariance` and `trust` quick where they are asked for at thousands of places, the latter from a lattice
    /// of H/6.
    void ready_for_many_places(unsigned threads = 1);
    double sd_m(Point place) const;  ///< root of half its trace
    /// Derivatives of the displacement adopted, once ready for many places (of the mean before): du_x/dx, du_x/dy,
    /// du_y/dx, du_y/dy.
    std::array<double, 4> gradient(Point place) const;
    /// Where the drafted point really lies: x with x + u(x) = drafted.
    Point true_place(Point drafted) const;
    /// Whether the search for the mode ended at a minimum, within its steps.
    bool settled() const;

    struct State;
    std::unique_ptr<State> state;
};

}  // namespace subcrop::infer
