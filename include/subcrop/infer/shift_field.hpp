// The contact-shift field: the truth at x is the draft at x + u(x), u a smooth displacement learnt from all stops.
//
//     ShiftField field = fit_shift_field(witnesses, raster, {.amplitude_m = 100, .reach_m = 800}, threads);
//     field.displacement(x)        // posterior mean of u where it is more than chance, metres
//     field.sd_m(x)                // its standard deviation in each direction
//     field.true_place(y)          // where the drafted point y really lies
//
// u(x) = A sum_m phi_m(x) v_m, with Gaussian bumps phi on nodes 0.75 H and 1.5 H apart, scaled so that u has the standard
// deviation A in each direction everywhere and the correlation (1 - w) exp(-d^2 / 2 H^2) + w exp(-d^2 / 8 H^2). v has independent standard normal entries. The
// posterior mode is found by L-BFGS in stages of shrinking blur, its covariance by Laplace's method.
//
// Not good at: contacts that jump at a fault (the field is smooth), displacements beyond 2.5 A, and drafts drawn from so few
// outcrops that their errors wave more shortly than H; those must be left to the guard in shift_choice.hpp.
#pragma once

#include <array>
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/contact_traces.hpp"
#include "subcrop/geo/unit_raster.hpp"
#include "subcrop/infer/separation.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::infer {

/// A stop that testifies about the unit below it.
struct Witness {
    Point place;
    double position_sd_m = 0;
    std::vector<float> log_likelihood;  ///< one a unit, up to a constant
    bool teaches = true;                ///< false: scored, but not learnt from
    std::vector<Point> soil_from{};  ///< places whose soils are blended in equal parts in what it says; empty: its own
};

struct ShiftFieldOptions {
    double amplitude_m = 0;      ///< A: standard deviation of the displacement in each direction
    double reach_m = 0;          ///< H: correlation length
    double residual_m = 0;       ///< blur of contacts that remains once shifted
    double error_share = 0.05;   ///< share of ground where the draft is wrong in no smooth way
    std::vector<double> ground;  ///< share of each unit; sums to 1
    Separation separation{};     ///< for witnesses whose soil is a blend
    std::span<const geo::ContactTrace> traces{};  ///< where contacts would run did they follow the beds
    double longer_share = 0;  ///< w: of the variance, what goes together over twice the reach
};

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
    /// How far the mean is adopted, 0 to 1. Were the draft right here, the mean would still stray, with the covariance
    /// V = C - C^2 / A^2 (C the posterior covariance); by z^2 = mean' V^-1 mean, which is then chi-square with two degrees of
    /// freedom, the mean is left aside below 2 and adopted in full from 6, where chance takes it once in twenty. A guard by
    /// neighbourhood: it leaves right parts of a draft alone while wrong ones move.
    double trust(Point place) const;
    /// Posterior covariance of the displacement: xx, xy, yy, square metres.
    std::array<double, 3> covariance(Point place) const;
    struct Belief {
        Point mean;
        std::array<double, 3> covariance{};
        double trust = 0;
    };
    /// All three, each reckoned once.
    Belief at(Point place) const;
    /// Makes `covariance` quick where it is asked for at thousands of places, and `trust` too, from a lattice of H/6.
    void ready_for_many_places();
    double sd_m(Point place) const;  ///< root of half its trace
    /// Derivatives of the displacement adopted, once ready for many places (of the mean before): du_x/dx, du_x/dy, du_y/dx, du_y/dy.
    std::array<double, 4> gradient(Point place) const;
    /// Where the drafted point really lies: x with x + u(x) = drafted.
    Point true_place(Point drafted) const;

    struct State;
    std::unique_ptr<State> state;
};

/// Evidence surfaces of the witnesses for one amplitude: ln likelihood of a witness as a function of the displacement.
class EvidenceSurfaces {
public:
    EvidenceSurfaces(std::span<const Witness> witnesses, const geo::UnitRaster& raster, const ShiftFieldOptions& options,
                     unsigned threads);
    ~EvidenceSurfaces();
    EvidenceSurfaces(EvidenceSurfaces&&) noexcept;

    /// ln likelihood of a witness at a displacement, contacts blurred by about `blur_m`.
    double value(std::size_t witness, Point displacement, double blur_m) const;

    struct State;
    std::unique_ptr<State> state;
};

/// ln of how much more probable the traces are where the draft is displaced by a field of this amplitude and reach over
/// the witnesses' ground than where it is right; 0 without traces.
double trace_evidence(std::span<const Witness> witnesses, const ShiftFieldOptions& options);

/// Learns from the witnesses whose `learns` entry is not 0 (empty: all).
ShiftField fit_shift_field(std::span<const Witness> witnesses, const EvidenceSurfaces& surfaces,
                           const ShiftFieldOptions& options, std::span<const std::uint8_t> learns = {});

}  // namespace subcrop::infer
