#include "subcrop/field/grain_size.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <tuple>
#include <vector>

#include "field/ilr_moments.hpp"

namespace subcrop::field {

namespace {

constexpr double right_by_feel = 0.7;
constexpr double measured_standard_error = 0.15;

using Borders = std::array<std::array<double, texture_class_count>, texture_class_count>;

/// Length of the border of each two classes: neighbours on the lattice of 1 % that fall into different ones.
Borders count_borders() {
    Borders borders{};
    const auto class_at = [](int sand, int silt) {
        return static_cast<std::size_t>(
            classify({static_cast<double>(sand), static_cast<double>(silt), static_cast<double>(100 - sand - silt)}));
    };
    for (int sand = 0; sand <= 100; ++sand)
        for (int silt = 0; silt <= 100 - sand; ++silt) {
            const std::size_t here = class_at(sand, silt);
            const auto meet = [&](int other_sand, int other_silt) {
                if (other_sand < 0 || other_sand + other_silt > 100) return;
                const std::size_t there = class_at(other_sand, other_silt);
                if (there == here) return;
                borders[here][there] += 1;
                borders[there][here] += 1;
            };
            // The three of the six neighbours that were not met from the other side.
            meet(sand + 1, silt);
            meet(sand, silt + 1);
            meet(sand - 1, silt + 1);
        }
    return borders;
}

IlrDistribution mixture(const std::array<double, texture_class_count>& shares) {
    IlrMoments moments;
    for (std::size_t i = 0; i < texture_class_count; ++i) {
        if (shares[i] == 0.0) continue;
        const IlrDistribution& part = class_distribution(static_cast<TextureClass>(i));
        moments.add(part.mean, shares[i], part.covariance);
    }
    return moments.distribution();
}

struct Precision {
    double p11, p12, p22;
};

Precision inverse(const std::array<double, 3>& c) {
    const double determinant = c[0] * c[2] - c[1] * c[1];
    assert(determinant > 0.0);
    return {c[2] / determinant, -c[1] / determinant, c[0] / determinant};
}

auto written_out(const IlrDistribution& d) { return std::tie(d.mean, d.covariance); }

}  // namespace

const IlrDistribution& feel_distribution(TextureClass texture_class) {
    static const auto all = [] {
        const Borders borders = count_borders();
        std::array<IlrDistribution, texture_class_count> once;
        for (std::size_t i = 0; i < texture_class_count; ++i) {
            double around = 0;
            for (const double border : borders[i]) around += border;
            std::array<double, texture_class_count> shares{};
            for (std::size_t j = 0; j < texture_class_count; ++j)
                shares[j] = i == j ? right_by_feel : (1.0 - right_by_feel) * borders[i][j] / around;
            once[i] = mixture(shares);
        }
        return once;
    }();
    return all[static_cast<std::size_t>(texture_class)];
}

IlrDistribution measured_grain_size(const GrainSize& grain_size) {
    constexpr double variance = measured_standard_error * measured_standard_error;
    return {ilr(grain_size), {variance, 0, variance}};
}

IlrDistribution estimated_grain_size(const HandEstimate& estimate) {
    assert(estimate.sand || estimate.silt || estimate.clay);
    assert(estimate.standard_error > 0.0);
    // Middles of the small triangles into which a lattice of 1 % cuts the large one.
    constexpr int steps = 100;
    std::vector<std::pair<GrainSize, double>> weighed;
    double greatest = -1e300;
    const auto misfit = [&](const std::optional<double>& guess, double percent) {
        if (!guess) return 0.0;
        const double off = (percent - *guess) / estimate.standard_error;
        return -off * off / 2.0;
    };
    for (int s = 0; s < steps; ++s)
        for (int c = 0; c < steps - s; ++c)
            for (const int half : {1, 2}) {
                if (half == 2 && s + c + 2 > steps) continue;
                const double sand = s + half / 3.0;
                const double clay = c + half / 3.0;
                const GrainSize size{sand, 100.0 - sand - clay, clay};
                const double log_weight =
                    misfit(estimate.sand, size.sand) + misfit(estimate.silt, size.silt) + misfit(estimate.clay, clay);
                greatest = std::max(greatest, log_weight);
                weighed.emplace_back(size, log_weight);
            }
    IlrMoments moments;
    for (const auto& [size, log_weight] : weighed)
        if (log_weight > greatest - 40.0) moments.add(ilr(size), std::exp(log_weight - greatest));
    return moments.distribution();
}

IlrDistribution combine(std::span<const IlrDistribution> sources) {
    assert(!sources.empty());
    std::vector<IlrDistribution> sorted(sources.begin(), sources.end());
    std::sort(sorted.begin(), sorted.end(),
              [](const IlrDistribution& a, const IlrDistribution& b) { return written_out(a) < written_out(b); });
    const auto same = [](const IlrDistribution& a, const IlrDistribution& b) {
        return written_out(a) == written_out(b);
    };
    sorted.erase(std::unique(sorted.begin(), sorted.end(), same), sorted.end());
    if (sorted.size() == 1) return sorted.front();

    Precision sum{0, 0, 0};
    std::array<double, 2> pull{};
    for (const IlrDistribution& source : sorted) {
        const Precision p = inverse(source.covariance);
        sum = {sum.p11 + p.p11, sum.p12 + p.p12, sum.p22 + p.p22};
        pull[0] += p.p11 * source.mean[0] + p.p12 * source.mean[1];
        pull[1] += p.p12 * source.mean[0] + p.p22 * source.mean[1];
    }
    const Precision c = inverse({sum.p11, sum.p12, sum.p22});
    return {{c.p11 * pull[0] + c.p12 * pull[1], c.p12 * pull[0] + c.p22 * pull[1]}, {c.p11, c.p12, c.p22}};
}

double disagreement(const IlrDistribution& first, const IlrDistribution& second) {
    const Precision p = inverse({first.covariance[0] + second.covariance[0], first.covariance[1] + second.covariance[1],
                                 first.covariance[2] + second.covariance[2]});
    const double d1 = first.mean[0] - second.mean[0];
    const double d2 = first.mean[1] - second.mean[1];
    return std::exp(-(p.p11 * d1 * d1 + 2.0 * p.p12 * d1 * d2 + p.p22 * d2 * d2) / 2.0);
}

GrainSize standard_errors(const IlrDistribution& distribution) {
    const auto [sand, silt, clay] = from_ilr(distribution.mean);
    const std::array<double, 3> parts{sand / 100.0, silt / 100.0, clay / 100.0};
    // Rows of the contrast matrix: how the logarithm of each part moves with a coordinate before closing to 100 %.
    const double a = 1.0 / std::sqrt(2.0), b = 1.0 / std::sqrt(6.0);
    const std::array<std::array<double, 3>, 2> contrast{{{a, -a, 0.0}, {b, b, -2.0 * b}}};
    std::array<double, 3> errors{};
    const auto& [c11, c12, c22] = distribution.covariance;
    for (std::size_t k = 0; k < 3; ++k) {
        std::array<double, 2> slope{};
        for (std::size_t j = 0; j < 2; ++j) {
            double average = 0;
            for (std::size_t i = 0; i < 3; ++i) average += parts[i] * contrast[j][i];
            slope[j] = 100.0 * parts[k] * (contrast[j][k] - average);
        }
        errors[k] = std::sqrt(slope[0] * slope[0] * c11 + 2.0 * slope[0] * slope[1] * c12 + slope[1] * slope[1] * c22);
    }
    return {errors[0], errors[1], errors[2]};
}

std::array<double, texture_class_count> class_probabilities(const IlrDistribution& distribution) {
    const auto& [c11, c12, c22] = distribution.covariance;
    // Cholesky factor: standard normal coordinates to ilr.
    const double l11 = std::sqrt(c11);
    const double l21 = c12 / l11;
    const double l22 = std::sqrt(c22 - l21 * l21);
    constexpr int cells = 180;
    constexpr double reach = 4.5;
    constexpr double step = 2.0 * reach / cells;
    std::array<double, texture_class_count> probability{};
    double total = 0;
    for (int i = 0; i < cells; ++i)
        for (int j = 0; j < cells; ++j) {
            const double z1 = -reach + step * (i + 0.5);
            const double z2 = -reach + step * (j + 0.5);
            const double weight = std::exp(-(z1 * z1 + z2 * z2) / 2.0);
            const GrainSize size =
                from_ilr({distribution.mean[0] + l11 * z1, distribution.mean[1] + l21 * z1 + l22 * z2});
            probability[static_cast<std::size_t>(classify(size))] += weight;
            total += weight;
        }
    for (double& p : probability) p /= total;
    return probability;
}

}  // namespace subcrop::field
