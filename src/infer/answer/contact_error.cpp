#include "infer/answer/contact_error.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "infer/statistics/random_draw.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// Errors to try, as multiples of the stated one; evenly spaced in their logarithm.
constexpr std::array<double, 10> of_stated{0.05, 0.0753, 0.1135, 0.171, 0.2577, 0.3881, 0.5848, 0.8811, 1.3275, 2};
constexpr std::size_t max_asked = 20000;
constexpr double min_error_m = 1;  ///< no map is drawn more accurately

using Table = std::array<double, of_stated.size()>;

/// Fractional index at which a smooth curve through the table is highest: cubic convolution (Keys 1981). A parabola
/// through the three best entries would jump where the best entry changes.
double greatest_at(const Table& table) {
    constexpr std::size_t last = of_stated.size() - 1, steps = 200;
    double best = 0, greatest = table[0];
    for (std::size_t i = 0; i < last; ++i) {
        const double p1 = table[i], p2 = table[i + 1];
        const double p0 = i > 0 ? table[i - 1] : 2 * p1 - p2, p3 = i + 2 <= last ? table[i + 2] : 2 * p2 - p1;
        const double a = 0.5 * (3 * (p1 - p2) + p3 - p0), b = 0.5 * (2 * p0 - 5 * p1 + 4 * p2 - p3),
                     c = 0.5 * (p2 - p0);
        for (std::size_t k = 1; k <= steps; ++k) {
            const double f = static_cast<double>(k) / steps, value = ((a * f + b) * f + c) * f + p1;
            if (value <= greatest) continue;
            greatest = value;
            best = static_cast<double>(i) + f;
        }
    }
    return best;
}

}  // namespace

double learn_contact_error(const Testimony& testimony, const geo::UnitMap& map, std::span<const model::UnitIndex> units,
                           const std::vector<double>& shares, double stated_m, const AnswerSettings& settings,
                           unsigned threads) {
    const std::size_t k_count = testimony.units;
    const std::vector<float> likelihood = testimony.likelihoods(testimony.soil_below, settings.error_soil_share);
    RandomDraw draw(1);
    std::vector<std::uint32_t> asked;
    const double share =
        static_cast<double>(max_asked) / static_cast<double>(std::max<std::size_t>(testimony.size(), 1));
    for (std::size_t i = 0; i < testimony.size(); ++i)
        if (testimony.observed[i] || share >= 1 || draw.share() < share) asked.push_back(static_cast<std::uint32_t>(i));

    constexpr std::size_t block = 512;
    const std::size_t blocks = (asked.size() + block - 1) / block;
    std::vector<Table> sums(blocks);
    parallel_blocks(asked.size(), block, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        auto& sum = sums[begin / block];
        sum.fill(0);
        std::vector<double> membership(map.unit_count());
        for (std::size_t a = begin; a < end; ++a) {
            const std::size_t i = asked[a];
            const float* c = &likelihood[i * k_count];
            const double pooled = pooled_likelihood(shares, c);
            const double weight = testimony.observed[i] ? 1 : settings.error_unobserved_weight;
            // Far from every contact the error makes no difference.
            const double widest = std::hypot(of_stated.back() * stated_m, testimony.position_sd_m[i]);
            if (!map.nearest_contact(testimony.place[i], 4 * widest)) continue;
            for (std::size_t s = 0; s < of_stated.size(); ++s) {
                std::fill(membership.begin(), membership.end(), 0.0);
                map.membership(testimony.place[i], std::hypot(of_stated[s] * stated_m, testimony.position_sd_m[i]),
                               membership);
                double explained = 0, on_map = 0;
                for (std::size_t k = 0; k < k_count; ++k) {
                    const double b = membership[static_cast<std::size_t>(units[k])];
                    explained += b * static_cast<double>(c[k]);
                    on_map += b;
                }
                if (on_map < 1e-6) continue;
                sum[s] += weight *
                          std::log(std::max(
                              (1 - settings.error_share) * explained / on_map + settings.error_share * pooled, 1e-12));
            }
        }
    });
    Table posterior{};
    for (std::size_t s = 0; s < of_stated.size(); ++s) {
        const double off = std::log(of_stated[s]) / settings.error_prior_log_sd;
        posterior[s] = -0.5 * off * off;
        for (const auto& sum : sums) posterior[s] += sum[s];
    }
    const double log_step = std::log(of_stated.back() / of_stated.front()) / (of_stated.size() - 1);
    double log_error = std::log(of_stated.front()) + log_step * greatest_at(posterior);
    // Soil spills over contacts. Soil alone cannot distinguish that from contacts worse than stated.
    const auto observed = static_cast<std::size_t>(
        std::count_if(testimony.observed.begin(), testimony.observed.end(), [](auto o) { return o != 0; }));
    if (observed < settings.min_observed) log_error = std::min(log_error, 0.0);
    return std::max(std::min(min_error_m, stated_m), stated_m * std::exp(log_error));
}

double zone_error_m(double learnt_m, double stated_m, const AnswerSettings& settings) {
    if (stated_m <= learnt_m) return learnt_m;
    return learnt_m * std::pow(stated_m / learnt_m, settings.zone_stated_share);
}

double zone_residual_m(double residual_m, double zone_error_m, double stated_m, const AnswerSettings& settings) {
    return std::max(residual_m, settings.zone_residual * std::min(zone_error_m, stated_m));
}

}  // namespace subcrop::infer
