// The shape of a set of parallel beds, planar or gently curved, from strikes and dips measured at some places.
//
//     BedSurface beds(attitudes, {.bend = 0.02, .reach_m = 1000});
//     double higher_m = beds.height_m(p) - beds.height_m(q);     // by how much a bed lies higher at p than at q
//     std::vector<double> covariance = beds.covariance(places);  // of those heights; only differences mean something
//
// The height of a bed is b(x) = g x + f(x). g: gradient of a plane, free. f: a Gaussian process of covariance
// s^2 exp(-d^2 / 2 H^2), whose gradient has the standard deviation `bend` in each direction (s = bend H). An attitude
// is the gradient at its place, with its error; the posterior is Gaussian (as in cokriging of gradients: Lajaunie,
// Courrioux & Manuel 1997, Mathematical Geology 29:571-584). Dips over 80 degrees are taken as 80. Cost: the cube of
// twice the number of attitudes.
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

struct BedAttitude {
    Point place;
    double strike_deg = 0;  ///< right-hand rule
    double dip_deg = 0;
    double error_deg = 5;  ///< standard error of the direction of the normal
};

struct BedBend {
    double bend = 0.02;     ///< standard deviation of the beds' gradient about their plane; 0: planar
    double reach_m = 1000;  ///< correlation length of the gradient
};

class BedSurface {
public:
    BedSurface(std::span<const BedAttitude> attitudes, const BedBend& bend);
    BedSurface(BedSurface&&) noexcept;
    BedSurface& operator=(BedSurface&&) noexcept;
    ~BedSurface();

    double height_m(Point place) const;  ///< up to a constant
    Point gradient(Point place) const;   ///< rise per metre east and north
    /// Covariance of the heights at the places, n x n by rows.
    std::vector<double> covariance(std::span<const Point> places) const;
    /// ln probability density of the attitudes themselves.
    double log_likelihood() const;

private:
    struct State;
    std::unique_ptr<State> state_;
};

/// The bend with the highest likelihood of several, but at least the usual one. A smaller bend cannot be seen by
/// compass (1 degree; common practice, no source). With fewer than four attitudes: the usual one.
BedBend likeliest_bend(std::span<const BedAttitude> attitudes);

/// Attitudes that contradict all others: a mistake (30 degrees of error) explains such an attitude better by a factor
/// of e^5 or more. They are found one by one, the worst first; the bend is chosen again each time. Always fewer than a
/// third of all; none of fewer than four. Ascending indices.
std::vector<std::size_t> attitudes_at_odds(std::span<const BedAttitude> attitudes);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
