// A planar bed or contact: from points on it, or from one measured strike and dip, with errors.
//
//     Parsed<PlaneFit> fit = fit_plane(points);                     // three points or more; or a message why not
//     std::optional<double> strike = strike_deg(fit.value->plane);  // right-hand rule: the bed dips to the right of it
//     double above_m = distance_m(fit.value->plane, x, y, z);       // of a place above the plane, along its normal
//
// A plane is stored as unit normal and a place on it, so that vertical planes are no special case. Its error has three
// small components: a rotation of the normal in the direction of dip, a rotation along the strike, and a shift along
// the normal.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// A point observed on the plane; metres east, north and up. Standard errors of 0: not stated.
struct PlanePoint {
    double x = 0;
    double y = 0;
    double z = 0;
    double horizontal_sd_m = 0;  ///< in each of east and north
    double height_sd_m = 0;
};

/// Strike (right-hand rule) and dip by compass, in degrees, with their standard errors (0: not stated).
struct Attitude {
    double strike_deg = 0;
    double dip_deg = 0;
    double strike_sd_deg = 0;
    double dip_sd_deg = 0;
};

/// Covariance of three numbers, upper triangle by rows: the rotations in the direction of dip and along the strike
/// (radians), and the shift along the normal (metres).
using PlaneCovariance = std::array<double, 6>;

struct Plane {
    std::array<double, 3> through{};              ///< a place on it: east, north, up in metres
    std::array<double, 3> normal{0, 0, 1};        ///< unit, upward; level where the plane is vertical
    std::optional<PlaneCovariance> covariance{};  ///< absent: no error is known
};

double dip_deg(const Plane& plane);
/// Absent where the plane is level to a millionth of a degree.
std::optional<double> strike_deg(const Plane& plane);
std::optional<double> dip_azimuth_deg(const Plane& plane);
/// Standard errors by first-order propagation; absent where unknown, or where the strike is.
std::optional<double> dip_sd_deg(const Plane& plane);
std::optional<double> strike_sd_deg(const Plane& plane);
/// Largest standard error of the normal's direction, degrees. Use it if a bed is so flat that its strike means little.
std::optional<double> normal_sd_deg(const Plane& plane);

/// Distance of a place from the plane along its normal, metres; above it is positive.
double distance_m(const Plane& plane, double x, double y, double z);
/// Its standard error, where the plane's is known; the place itself has none.
std::optional<double> distance_sd_m(const Plane& plane, double x, double y, double z);
/// Height of the plane at a place; absent where the plane is vertical to a millionth of a degree.
std::optional<double> height_m(const Plane& plane, Point place);
std::optional<double> height_sd_m(const Plane& plane, Point place);
/// Dip seen in a vertical section of this direction, degrees, positive downward along the direction.
/// tan(apparent) = tan(dip) cos(direction - dip azimuth).
double apparent_dip_deg(const Plane& plane, double direction_deg);

struct PlaneFit {
    Plane plane;
    std::size_t points = 0;
    double rms_m = 0;            ///< of the points' distances from the plane
    bool errors_stated = false;  ///< else errors come from the scatter, if there are more than three points
    /// Sum of squared distances over their variances, and the probability of a larger one if the points lie on a plane.
    /// Absent for three points or without stated errors.
    std::optional<double> chi_square;
    std::optional<double> p_value;
};

/// The most probable plane through three points or more. It goes exactly through three points. With more, total least
/// squares: the sum of (distance / standard error along the normal)^2 is minimal. Steep and vertical planes are thus no
/// special case. Points without a stated error share one that is estimated from their scatter. No value with fewer than
/// three points, or if they lie on one line. The error in one direction is at least a thousandth of the error in the
/// other.
Parsed<PlaneFit> fit_plane(std::span<const PlanePoint> points);

/// The plane of a strike and dip through one point. No value where the dip is not in 0 to 90 degrees.
Parsed<Plane> plane_through(const Attitude& attitude, const PlanePoint& point);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
