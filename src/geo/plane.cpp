#include "subcrop/geo/plane.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <numbers>
#include <vector>

namespace subcrop::geo {

namespace {

using Vector = Eigen::Vector3d;
using Matrix = Eigen::Matrix3d;

constexpr double degree = std::numbers::pi / 180;
constexpr double level_limit = 1e-6 * degree;  // the sine of an angle nobody measures

double azimuth(double value) {
    const double turned = std::fmod(value, 360.0);
    const double positive = turned < 0 ? turned + 360 : turned;
    return positive >= 360 - 1e-10 || positive == 0 ? 0 : positive;  // -0 is 0
}

Vector normal_of(const Plane& plane) { return {plane.normal[0], plane.normal[1], plane.normal[2]}; }

/// Upward; a level normal so that the strike is below 180 degrees.
Vector turned_up(Vector n) {
    if (std::abs(n.z()) < 1e-12) {
        n.z() = 0;
        n.normalize();
        // Strike below 180 is an azimuth of dip from 90 to below 270: to the south, or due east.
        if (n.y() > 1e-12 || (std::abs(n.y()) <= 1e-12 && n.x() < 0)) n = -n;
        return n;
    }
    return n.z() < 0 ? Vector(-n) : n;
}

/// Directions into which the normal turns: with the dip (e1) and along the strike (e2).
void turning_directions(const Vector& n, Vector& e1, Vector& e2) {
    const double sine = std::hypot(n.x(), n.y());
    const double ux = sine > level_limit ? n.x() / sine : 0, uy = sine > level_limit ? n.y() / sine : 1;
    e1 = {n.z() * ux, n.z() * uy, -sine};
    e2 = {uy, -ux, 0};
}

Matrix covariance_of(const PlaneCovariance& c) {
    Matrix m;
    m << c[0], c[1], c[2], c[1], c[3], c[4], c[2], c[4], c[5];
    return m;
}

PlaneCovariance packed(const Matrix& m) { return {m(0, 0), m(0, 1), m(0, 2), m(1, 1), m(1, 2), m(2, 2)}; }

struct Weighed {
    Vector place;  // from the centre
    double horizontal = 0, vertical = 0;
};

double variance_along(const Weighed& p, const Vector& n) {
    const double z2 = n.z() * n.z();
    return p.horizontal * p.horizontal * (1 - z2) + p.vertical * p.vertical * z2;
}

struct Solution {
    Vector normal;
    double offset = 0;
    double chi_square = 0;
    Matrix covariance;
};

/// Derivatives of the residual (distance over its standard error) in the two turns and the shift.
Vector slope_of(const Weighed& p, const Vector& n, double offset, const Vector& e1, const Vector& e2,
                double& residual) {
    const double variance = variance_along(p, n), sd = std::sqrt(variance), f = n.dot(p.place) - offset;
    residual = f / sd;
    const double half_change = n.z() * (p.vertical * p.vertical - p.horizontal * p.horizontal);
    return {e1.dot(p.place) / sd - f * half_change * e1.z() / (variance * sd),
            e2.dot(p.place) / sd - f * half_change * e2.z() / (variance * sd), -1 / sd};
}

double chi_square_at(const std::vector<Weighed>& points, const Vector& n, double offset) {
    double sum = 0;
    for (const Weighed& p : points) {
        const double f = n.dot(p.place) - offset;
        sum += f * f / variance_along(p, n);
    }
    return sum;
}

/// Gauss-Newton with halved steps from a first normal; `exact`: the normal stays, only the error is wanted.
Solution solve(const std::vector<Weighed>& points, Vector n, bool exact) {
    Solution s;
    double weights = 0, sum = 0;
    for (const Weighed& p : points) {
        const double w = 1 / variance_along(p, n);
        weights += w;
        sum += w * n.dot(p.place);
    }
    s.offset = exact ? n.dot(points.front().place) : sum / weights;
    s.chi_square = chi_square_at(points, n, s.offset);
    for (int round = 0;; ++round) {
        Vector e1, e2;
        turning_directions(n, e1, e2);
        Matrix normal_matrix = Matrix::Zero();
        Vector right = Vector::Zero();
        for (const Weighed& p : points) {
            double residual = 0;
            const Vector j = slope_of(p, n, s.offset, e1, e2, residual);
            normal_matrix += j * j.transpose();
            right -= j * residual;
        }
        s.covariance = normal_matrix.inverse();
        s.normal = n;
        if (exact || round == 50) return s;
        const Vector step = s.covariance * right;
        bool better = false;
        for (double length = 1; length > 1e-4 && !better; length /= 2) {
            const Vector turned = (n + length * (step.x() * e1 + step.y() * e2)).normalized();
            const double offset = s.offset + length * step.z(), chi = chi_square_at(points, turned, offset);
            if (chi < s.chi_square * (1 - 1e-14)) {
                n = turned;
                s.offset = offset;
                s.chi_square = chi;
                better = true;
            }
        }
        if (!better) return s;
    }
}

/// The least direction of the points once each coordinate is counted in its own error.
Vector first_normal(const std::vector<Weighed>& points, double horizontal, double vertical) {
    Matrix scatter = Matrix::Zero();
    for (const Weighed& p : points) {
        const Vector q(p.place.x() / horizontal, p.place.y() / horizontal, p.place.z() / vertical);
        const double w = horizontal / p.horizontal;
        scatter += w * w * q * q.transpose();
    }
    const Eigen::SelfAdjointEigenSolver<Matrix> solver(scatter);
    const Vector m = solver.eigenvectors().col(0);
    return Vector(m.x() / horizontal, m.y() / horizontal, m.z() / vertical).normalized();
}

}  // namespace

double dip_deg(const Plane& plane) {
    return std::atan2(std::hypot(plane.normal[0], plane.normal[1]), plane.normal[2]) / degree;
}

std::optional<double> dip_azimuth_deg(const Plane& plane) {
    if (std::hypot(plane.normal[0], plane.normal[1]) < level_limit) return std::nullopt;
    return azimuth(std::atan2(plane.normal[0], plane.normal[1]) / degree);
}

std::optional<double> strike_deg(const Plane& plane) {
    const auto down = dip_azimuth_deg(plane);
    if (!down) return std::nullopt;
    return azimuth(*down - 90);
}

std::optional<double> dip_sd_deg(const Plane& plane) {
    if (!plane.covariance) return std::nullopt;
    return std::sqrt((*plane.covariance)[0]) / degree;
}

std::optional<double> strike_sd_deg(const Plane& plane) {
    const double sine = std::hypot(plane.normal[0], plane.normal[1]);
    if (!plane.covariance || sine < level_limit) return std::nullopt;
    return std::sqrt((*plane.covariance)[3]) / sine / degree;
}

std::optional<double> normal_sd_deg(const Plane& plane) {
    if (!plane.covariance) return std::nullopt;
    const PlaneCovariance& c = *plane.covariance;
    const double middle = (c[0] + c[3]) / 2;
    return std::sqrt(middle + std::hypot((c[0] - c[3]) / 2, c[1])) / degree;
}

double distance_m(const Plane& plane, double x, double y, double z) {
    return plane.normal[0] * (x - plane.through[0]) + plane.normal[1] * (y - plane.through[1]) +
           plane.normal[2] * (z - plane.through[2]);
}

std::optional<double> distance_sd_m(const Plane& plane, double x, double y, double z) {
    if (!plane.covariance) return std::nullopt;
    Vector e1, e2;
    turning_directions(normal_of(plane), e1, e2);
    const Vector p(x - plane.through[0], y - plane.through[1], z - plane.through[2]);
    const Vector slope(e1.dot(p), e2.dot(p), -1);
    return std::sqrt(std::max(0.0, slope.dot(covariance_of(*plane.covariance) * slope)));
}

std::optional<double> height_m(const Plane& plane, Point place) {
    if (plane.normal[2] < level_limit) return std::nullopt;
    return plane.through[2] -
           (plane.normal[0] * (place.x - plane.through[0]) + plane.normal[1] * (place.y - plane.through[1])) /
               plane.normal[2];
}

std::optional<double> height_sd_m(const Plane& plane, Point place) {
    const auto height = height_m(plane, place);
    if (!height) return std::nullopt;
    const auto sd = distance_sd_m(plane, place.x, place.y, *height);
    if (!sd) return std::nullopt;
    return *sd / plane.normal[2];
}

double apparent_dip_deg(const Plane& plane, double direction_deg) {
    const double along =
        plane.normal[0] * std::sin(direction_deg * degree) + plane.normal[1] * std::cos(direction_deg * degree);
    // Along the strike of a vertical plane nothing can be seen of its dip: called level.
    if (std::abs(along) < 1e-15) return 0;
    return std::atan2(along, plane.normal[2]) / degree;
}

Parsed<PlaneFit> fit_plane(std::span<const PlanePoint> points) {
    if (points.size() < 3) {
        return {std::nullopt,
                std::to_string(points.size()) + (points.size() == 1 ? " point makes" : " points make") + " no plane",
                "Give three points, or one point with strike and dip."};
    }
    Vector centre = Vector::Zero();
    for (const PlanePoint& p : points) centre += Vector(p.x, p.y, p.z);
    centre /= static_cast<double>(points.size());
    double horizontal = 0, vertical = 0;
    for (const PlanePoint& p : points) {
        horizontal += p.horizontal_sd_m / static_cast<double>(points.size());
        vertical += p.height_sd_m / static_cast<double>(points.size());
    }
    PlaneFit fit;
    fit.points = points.size();
    fit.errors_stated = horizontal > 0 || vertical > 0;
    std::vector<Weighed> weighed;
    Matrix scatter = Matrix::Zero();
    const double floor = fit.errors_stated ? 1e-3 * std::max(horizontal, vertical) : 1.0;
    for (const PlanePoint& p : points) {
        weighed.push_back(
            {Vector(p.x, p.y, p.z) - centre, std::max(p.horizontal_sd_m, floor), std::max(p.height_sd_m, floor)});
        scatter += weighed.back().place * weighed.back().place.transpose();
    }
    const Eigen::SelfAdjointEigenSolver<Matrix> shape(scatter);
    // Roots, since the scatter is in squares; the margin is what coordinates of seven figures leave.
    const double breadth = std::sqrt(std::max(0.0, shape.eigenvalues()[1])),
                 length = std::sqrt(std::max(0.0, shape.eigenvalues()[2]));
    if (!(length > 0) || breadth < 1e-6 * length) {
        return {std::nullopt,
                length > 0 ? "the points lie on one line, through which many planes pass"
                           : "the points are all at one place",
                "Give a point well off that line, or one point with strike and dip."};
    }
    const bool exact = points.size() == 3;
    const Vector first =
        exact ? Vector((weighed[1].place - weighed[0].place).cross(weighed[2].place - weighed[0].place).normalized())
              : first_normal(weighed, std::max(horizontal, floor), std::max(vertical, floor));
    const Solution found = solve(weighed, turned_up(first), exact);
    const Vector n = turned_up(found.normal);
    const Vector through = centre + found.offset * found.normal;
    fit.plane.normal = {n.x(), n.y(), n.z()};
    fit.plane.through = {through.x(), through.y(), through.z()};
    double squares = 0;
    for (const PlanePoint& p : points) squares += std::pow(distance_m(fit.plane, p.x, p.y, p.z), 2);
    fit.rms_m = exact ? 0 : std::sqrt(squares / static_cast<double>(points.size()));
    const double freedom = static_cast<double>(points.size()) - 3;
    PlaneCovariance covariance = packed(found.covariance);
    if (n.dot(found.normal) < 0) {  // turned over, so that the turn with the dip and the shift change sign
        covariance[1] = -covariance[1];
        covariance[4] = -covariance[4];
    }
    if (!fit.errors_stated) {
        for (double& c : covariance) c *= exact ? 0 : found.chi_square / freedom;
    }
    if (fit.errors_stated || !exact) fit.plane.covariance = covariance;
    if (fit.errors_stated && !exact) {
        fit.chi_square = found.chi_square;
        fit.p_value = boost::math::gamma_q(freedom / 2, found.chi_square / 2);
    }
    return {fit, {}, {}};
}

Parsed<Plane> plane_through(const Attitude& attitude, const PlanePoint& point) {
    if (!(attitude.dip_deg >= 0 && attitude.dip_deg <= 90)) {
        return {std::nullopt, "a dip is 0 to 90 degrees",
                "Turn the strike by 180 degrees where the bed dips to the other side."};
    }
    const double dip = attitude.dip_deg * degree, down = (attitude.strike_deg + 90) * degree;
    Plane plane;
    plane.through = {point.x, point.y, point.z};
    const Vector n = attitude.dip_deg == 90
                         ? Vector(std::sin(down), std::cos(down), 0)
                         : Vector(std::sin(dip) * std::sin(down), std::sin(dip) * std::cos(down), std::cos(dip));
    plane.normal = {n.x(), n.y(), n.z()};
    if (attitude.strike_sd_deg > 0 || attitude.dip_sd_deg > 0 || point.horizontal_sd_m > 0 || point.height_sd_m > 0) {
        const double turn = attitude.dip_sd_deg * degree, swing = attitude.strike_sd_deg * degree * std::sin(dip);
        const double across = n.x() * n.x() + n.y() * n.y();
        plane.covariance = PlaneCovariance{turn * turn,
                                           0,
                                           0,
                                           swing * swing,
                                           0,
                                           across * point.horizontal_sd_m * point.horizontal_sd_m +
                                               n.z() * n.z() * point.height_sd_m * point.height_sd_m};
    }
    return {plane, {}, {}};
}

}  // namespace subcrop::geo
