#include "subcrop/infer/indicator_kriging.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <utility>

namespace subcrop::infer {

namespace {

double spherical(double h) { return h >= 1 ? 1 : h * (1.5 - 0.5 * h * h); }

/// The best nugget and sill for a range, both at least 0.
Variogram best_at(std::span<const VariogramBin> bins, double range) {
    double w0 = 0, w1 = 0, w2 = 0, y0 = 0, y1 = 0;
    for (const VariogramBin& bin : bins) {
        const double w = static_cast<double>(bin.pairs) / (bin.distance_m * bin.distance_m),
                     s = spherical(bin.distance_m / range);
        w0 += w;
        w1 += w * s;
        w2 += w * s * s;
        y0 += w * bin.gamma;
        y1 += w * s * bin.gamma;
    }
    const double determinant = w0 * w2 - w1 * w1;
    double nugget = -1, sill = -1;
    if (determinant > 1e-12 * w0 * w2) {
        nugget = (w2 * y0 - w1 * y1) / determinant;
        sill = (w0 * y1 - w1 * y0) / determinant;
    }
    if (nugget >= 0 && sill >= 0) return {nugget, sill, range};
    const Variogram no_nugget{0, std::max(0.0, y1 / w2), range}, no_sill{std::max(0.0, y0 / w0), 0, range};
    return no_nugget.misfit(bins) <= no_sill.misfit(bins) ? no_nugget : no_sill;
}

}  // namespace

double Variogram::at(double distance_m) const {
    return distance_m <= 0 ? 0 : nugget + sill * spherical(distance_m / range_m);
}

bool Variogram::shows_range(std::span<const VariogramBin> bins) const {
    constexpr double min_alike = 0.05;  // share of the variance that the nearest pairs share
    if (bins.empty() || nugget + sill <= 0) return false;
    double shortest = bins.front().distance_m;
    for (const VariogramBin& bin : bins) shortest = std::min(shortest, bin.distance_m);
    return at(shortest) < (1 - min_alike) * (nugget + sill);
}

double Variogram::misfit(std::span<const VariogramBin> bins) const {
    double sum = 0;
    for (const VariogramBin& bin : bins)
        sum += static_cast<double>(bin.pairs) * std::pow((bin.gamma - at(bin.distance_m)) / bin.distance_m, 2);
    return sum;
}

std::vector<VariogramBin> unit_variogram(std::span<const SeenRock> seen, double cutoff_m, std::size_t bins) {
    assert(cutoff_m > 0 && bins > 0);
    std::vector<VariogramBin> all(bins);
    for (std::size_t i = 0; i < seen.size(); ++i) {
        for (std::size_t j = i + 1; j < seen.size(); ++j) {
            const double d = distance(seen[i].place, seen[j].place);
            if (d > cutoff_m) continue;
            // A bin includes its upper end, as in gstat.
            const double number = std::ceil(d / cutoff_m * static_cast<double>(bins)) - 1;
            VariogramBin& bin = all[static_cast<std::size_t>(std::clamp(number, 0.0, static_cast<double>(bins) - 1))];
            ++bin.pairs;
            bin.distance_m += d;
            bin.gamma += seen[i].unit != seen[j].unit;
        }
    }
    std::vector<VariogramBin> result;
    for (VariogramBin& bin : all) {
        if (bin.pairs == 0 || bin.distance_m <= 0) continue;
        bin.distance_m /= static_cast<double>(bin.pairs);
        bin.gamma /= static_cast<double>(bin.pairs);
        result.push_back(bin);
    }
    return result;
}

Variogram fit_variogram(std::span<const VariogramBin> bins) {
    if (bins.empty()) return {};
    double shortest = bins.front().distance_m, longest = shortest;
    for (const VariogramBin& bin : bins) {
        shortest = std::min(shortest, bin.distance_m);
        longest = std::max(longest, bin.distance_m);
    }
    // The misfit may have several minima along the range. All are found, and the lowest is refined.
    constexpr int steps = 200;
    const double ratio = std::pow(longest / shortest, 1.0 / steps);
    double best_range = longest, least = std::numeric_limits<double>::infinity();
    for (int k = 0; k <= steps; ++k) {
        const double range = shortest * std::pow(ratio, k);
        if (const double misfit = best_at(bins, range).misfit(bins); misfit < least) {
            least = misfit;
            best_range = range;
        }
    }
    double low = std::max(shortest, best_range / ratio), high = std::min(longest, best_range * ratio);
    const double golden = (std::sqrt(5.0) - 1) / 2;
    for (int k = 0; k < 60 && high - low > 1e-9 * high; ++k) {
        const double a = high - golden * (high - low), b = low + golden * (high - low);
        if (best_at(bins, a).misfit(bins) <= best_at(bins, b).misfit(bins))
            high = b;
        else
            low = a;
    }
    return best_at(bins, (low + high) / 2);
}

IndicatorKriging::IndicatorKriging(std::vector<SeenRock> seen, std::size_t units, const Variogram& model,
                                   std::size_t max_neighbours)
    : values_(seen.size() * units, 0.0),
      noise_(seen.size(), 0.0),
      shares_(units, 1.0),
      model_(model),
      max_neighbours_(max_neighbours) {
    for (const SeenRock& rock : seen) {
        assert(rock.unit >= 0 && static_cast<std::size_t>(rock.unit) < units);
        values_[places_.size() * units + static_cast<std::size_t>(rock.unit)] = 1;
        places_.push_back(rock.place);
        shares_[static_cast<std::size_t>(rock.unit)] += 1;
    }
    const double total = std::accumulate(shares_.begin(), shares_.end(), 0.0);
    for (double& share : shares_) share /= total;
}

IndicatorKriging::IndicatorKriging(std::vector<Point> places, std::vector<double> values, std::vector<double> noise,
                                   std::vector<double> shares, const Variogram& model, std::size_t max_neighbours)
    : places_(std::move(places)),
      values_(std::move(values)),
      noise_(std::move(noise)),
      shares_(std::move(shares)),
      model_(model),
      max_neighbours_(max_neighbours) {
    assert(values_.size() == places_.size() * shares_.size() && noise_.size() == places_.size());
}

void IndicatorKriging::estimates(Point place, std::span<double> result, std::size_t left_out) const {
    assert(result.size() == shares_.size());
    std::copy(shares_.begin(), shares_.end(), result.begin());
    std::vector<std::pair<double, std::uint32_t>> near;
    near.reserve(places_.size());
    for (std::uint32_t i = 0; i < places_.size(); ++i)
        if (i != left_out) near.emplace_back(distance(place, places_[i]), i);
    const std::size_t count = std::min(max_neighbours_, near.size());
    if (count == 0) return;
    std::partial_sort(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(count), near.end());
    const double total = model_.nugget + model_.sill;
    if (total <= 0) return;
    Eigen::MatrixXd covariance(count, count);
    Eigen::VectorXd towards(count);
    // Stops in one place differ only by the nugget, however small it is.
    const double apart = std::max(model_.nugget, 1e-6 * total);
    for (std::size_t i = 0; i < count; ++i) {
        const auto row = static_cast<Eigen::Index>(i);
        const Point p = places_[near[i].second];
        towards(row) = near[i].first > 0 ? total - model_.at(near[i].first) : total;
        for (std::size_t j = 0; j < i; ++j) {
            const double d = distance(p, places_[near[j].second]);
            const auto column = static_cast<Eigen::Index>(j);
            covariance(row, column) = covariance(column, row) = d > 0 ? total - model_.at(d) : total - apart;
        }
        covariance(row, row) = total + noise_[near[i].second];
    }
    const Eigen::VectorXd weights = covariance.ldlt().solve(towards);
    for (std::size_t i = 0; i < count; ++i) {
        const double w = weights(static_cast<Eigen::Index>(i));
        const double* value = &values_[near[i].second * result.size()];
        for (std::size_t u = 0; u < result.size(); ++u) result[u] += w * (value[u] - shares_[u]);
    }
}

void IndicatorKriging::probabilities(Point place, std::span<double> result, std::size_t left_out) const {
    estimates(place, result, left_out);
    double sum = 0;
    for (double& p : result) sum += p = std::max(p, 0.0);
    for (double& p : result) p /= sum;
}

}  // namespace subcrop::infer
