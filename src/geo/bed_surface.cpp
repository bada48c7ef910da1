#include "subcrop/geo/bed_surface.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

namespace subcrop::geo {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double degree = std::numbers::pi / 180;
constexpr double steepest_deg = 80;
/// Standard deviation of the plane's gradient in each direction before anything is measured.
constexpr double any_gradient = 1;

/// Height loses tan(dip) a metre towards the right of the strike.
Point gradient_of(const BedAttitude& attitude) {
    const double down = (attitude.strike_deg + 90) * degree,
                 tangent = std::tan(std::min(attitude.dip_deg, steepest_deg) * degree);
    return {-tangent * std::sin(down), -tangent * std::cos(down)};
}

}  // namespace

struct BedSurface::State {
    std::vector<Point> places;  ///< from the middle of all
    Point middle;
    double variance = 0, reach_m = 1;  ///< s^2 and H
    VectorXd weights;                  ///< inverse covariance times what was measured
    Eigen::LLT<MatrixXd> covariance;
    double log_likelihood = 0;

    double correlation(Point a, Point b) const {
        const double dx = a.x - b.x, dy = a.y - b.y;
        return variance * std::exp(-(dx * dx + dy * dy) / (2 * reach_m * reach_m));
    }
    /// Covariance of the height at `a` with the gradient at `b`.
    Point height_gradient(Point a, Point b) const {
        const double k = correlation(a, b) / (reach_m * reach_m), plane = any_gradient * any_gradient;
        return {plane * a.x + k * (a.x - b.x), plane * a.y + k * (a.y - b.y)};
    }
    /// Covariance of component `i` of the gradient at `a` with component `j` of that at `b`.
    double gradient_gradient(Point a, int i, Point b, int j) const {
        const double d[2] = {a.x - b.x, a.y - b.y};
        const double same = i == j ? 1 : 0, h2 = reach_m * reach_m;
        return any_gradient * any_gradient * same + correlation(a, b) * (same - d[i] * d[j] / h2) / h2;
    }
    Point local(Point p) const { return {p.x - middle.x, p.y - middle.y}; }
    VectorXd with_gradients(Point a) const {
        VectorXd row(2 * static_cast<Index>(places.size()));
        for (std::size_t n = 0; n < places.size(); ++n) {
            const Point c = height_gradient(a, places[n]);
            row[2 * static_cast<Index>(n)] = c.x;
            row[2 * static_cast<Index>(n) + 1] = c.y;
        }
        return row;
    }
};

BedSurface::BedSurface(std::span<const BedAttitude> attitudes, const BedBend& bend)
    : state_(std::make_unique<State>()) {
    assert(!attitudes.empty() && bend.bend >= 0 && bend.reach_m > 0);
    State& s = *state_;
    s.reach_m = bend.reach_m;
    s.variance = bend.bend * bend.bend * bend.reach_m * bend.reach_m;
    for (const BedAttitude& attitude : attitudes) {
        s.middle.x += attitude.place.x / static_cast<double>(attitudes.size());
        s.middle.y += attitude.place.y / static_cast<double>(attitudes.size());
    }
    for (const BedAttitude& attitude : attitudes) s.places.push_back(s.local(attitude.place));
    const auto count = static_cast<Index>(attitudes.size());
    MatrixXd covariance(2 * count, 2 * count);
    VectorXd measured(2 * count);
    for (Index n = 0; n < count; ++n) {
        const BedAttitude& attitude = attitudes[static_cast<std::size_t>(n)];
        const Point gradient = gradient_of(attitude);
        measured[2 * n] = gradient.x;
        measured[2 * n + 1] = gradient.y;
        for (Index m = 0; m < count; ++m) {
            for (int i = 0; i < 2; ++i) {
                for (int j = 0; j < 2; ++j) {
                    covariance(2 * n + i, 2 * m + j) = s.gradient_gradient(s.places[static_cast<std::size_t>(n)], i,
                                                                           s.places[static_cast<std::size_t>(m)], j);
                }
            }
        }
        // A turn of the normal by e changes the gradient by e / cos^2(dip) down the dip and by e / cos(dip) along the
        // strike.
        const double error = std::max(attitude.error_deg, 0.5) * degree,
                     cosine = std::cos(std::min(attitude.dip_deg, steepest_deg) * degree);
        const double down = (attitude.strike_deg + 90) * degree;
        const double along_dip = std::pow(error / (cosine * cosine), 2), along_strike = std::pow(error / cosine, 2);
        const double x = std::sin(down), y = std::cos(down);
        covariance(2 * n, 2 * n) += along_dip * x * x + along_strike * y * y;
        covariance(2 * n + 1, 2 * n + 1) += along_dip * y * y + along_strike * x * x;
        covariance(2 * n, 2 * n + 1) += (along_dip - along_strike) * x * y;
        covariance(2 * n + 1, 2 * n) += (along_dip - along_strike) * x * y;
    }
    s.covariance.compute(covariance);
    s.weights = s.covariance.solve(measured);
    const double log_determinant = 2 * s.covariance.matrixLLT().diagonal().array().log().sum();
    s.log_likelihood = -0.5 * (measured.dot(s.weights) + log_determinant) -
                       static_cast<double>(count) * std::log(2 * std::numbers::pi);
}

BedSurface::BedSurface(BedSurface&&) noexcept = default;
BedSurface& BedSurface::operator=(BedSurface&&) noexcept = default;
BedSurface::~BedSurface() = default;

double BedSurface::height_m(Point place) const {
    return state_->with_gradients(state_->local(place)).dot(state_->weights);
}

Point BedSurface::gradient(Point place) const {
    const State& s = *state_;
    const Point a = s.local(place);
    Point sum;
    for (std::size_t n = 0; n < s.places.size(); ++n) {
        for (int j = 0; j < 2; ++j) {
            const double weight = s.weights[2 * static_cast<Index>(n) + j];
            sum.x += weight * s.gradient_gradient(a, 0, s.places[n], j);
            sum.y += weight * s.gradient_gradient(a, 1, s.places[n], j);
        }
    }
    return sum;
}

std::vector<double> BedSurface::covariance(std::span<const Point> places) const {
    const State& s = *state_;
    const auto count = static_cast<Index>(places.size());
    MatrixXd known(2 * static_cast<Index>(s.places.size()), count);
    for (Index i = 0; i < count; ++i) known.col(i) = s.with_gradients(s.local(places[static_cast<std::size_t>(i)]));
    s.covariance.matrixL().solveInPlace(known);
    std::vector<double> result(places.size() * places.size());
    for (Index i = 0; i < count; ++i) {
        for (Index j = 0; j < count; ++j) {
            const Point a = s.local(places[static_cast<std::size_t>(i)]),
                        b = s.local(places[static_cast<std::size_t>(j)]);
            const double before = any_gradient * any_gradient * (a.x * b.x + a.y * b.y) + s.correlation(a, b);
            result[static_cast<std::size_t>(i * count + j)] = before - known.col(i).dot(known.col(j));
        }
    }
    return result;
}

double BedSurface::log_likelihood() const { return state_->log_likelihood; }

BedBend likeliest_bend(std::span<const BedAttitude> attitudes) {
    BedBend best;  // no attitude is precise enough to show a smaller bend
    if (attitudes.size() < 4) return best;
    double most = BedSurface(attitudes, best).log_likelihood();
    for (const double bend : {0.05, 0.1, 0.2, 0.4}) {
        for (const double reach_m : {500.0, 1000.0, 2000.0, 4000.0}) {
            const double likelihood = BedSurface(attitudes, {bend, reach_m}).log_likelihood();
            if (likelihood <= most) continue;
            most = likelihood;
            best = {bend, reach_m};
        }
    }
    return best;
}

std::vector<std::size_t> attitudes_at_odds(std::span<const BedAttitude> attitudes) {
    constexpr std::size_t fewest = 4, most = 60;  // the search takes the fourth power of their number
    constexpr double slip_deg = 30, gain_needed = 5;
    std::vector<std::size_t> odd;
    if (attitudes.size() < fewest || attitudes.size() > most) return odd;
    std::vector<BedAttitude> taken(attitudes.begin(), attitudes.end());
    double likelihood = BedSurface(taken, likeliest_bend(taken)).log_likelihood();
    while (3 * (odd.size() + 1) < attitudes.size()) {
        std::size_t worst = taken.size();
        double best = likelihood + gain_needed;
        for (std::size_t i = 0; i < taken.size(); ++i) {
            if (std::find(odd.begin(), odd.end(), i) != odd.end()) continue;
            std::vector<BedAttitude> without = taken;
            without[i].error_deg = std::max(without[i].error_deg, slip_deg);
            const double gain = BedSurface(without, likeliest_bend(without)).log_likelihood();
            if (gain <= best) continue;
            best = gain;
            worst = i;
        }
        if (worst == taken.size()) break;
        odd.push_back(worst);
        taken[worst].error_deg = std::max(taken[worst].error_deg, slip_deg);
        likelihood = best;
    }
    std::sort(odd.begin(), odd.end());
    return odd;
}

}  // namespace subcrop::geo
