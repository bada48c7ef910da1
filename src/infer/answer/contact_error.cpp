#include "infer/answer/contact_error.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "infer/random_draw.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

constexpr std::array<double, 10> of_stated{0.05, 0.1, 0.175, 0.25, 0.35, 0.5, 0.7, 1, 1.4, 2};
constexpr std::size_t max_asked = 20000;
constexpr double least_error_m = 1;  ///< finer than any map is drawn

/// Place of the greatest value of the parabola through three points.
double vertex(const std::array<double, 3>& x, const std::array<double, 3>& y) {
    const double left = (y[1] - y[0]) / (x[1] - x[0]), right = (y[2] - y[1]) / (x[2] - x[1]);
    const double curvature = (right - left) / (x[2] - x[0]);
    if (curvature >= 0) return x[1];
    return std::clamp((x[0] + x[1]) / 2 - left / (2 * curvature), x[0], x[2]);
}

}  // namespace

double learn_contact_error(const Testimony& testimony, const geo::UnitMap& map, std::span<const model::UnitIndex> units,
                           const std::vector<double>& shares, double stated_m, const AnswerSettings& settings, unsigned threads) {
    const std::size_t k_count = testimony.units;
    const std::vector<float> likelihood = testimony.likelihoods(testimony.soil_below, settings.error_soil_share);
    RandomDraw draw(1);
    std::vector<std::uint32_t> asked;
    const double share = static_cast<double>(max_asked) / static_cast<double>(std::max<std::size_t>(testimony.size(), 1));
    for (std::size_t i = 0; i < testimony.size(); ++i)
        if (testimony.observed[i] || share >= 1 || draw.share() < share) asked.push_back(static_cast<std::uint32_t>(i));

    constexpr std::size_t block = 512;
    const std::size_t blocks = (asked.size() + block - 1) / block;
    std::vector<std::array<double, of_stated.size()>> sums(blocks);
    parallel_blocks(asked.size(), block, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        auto& sum = sums[begin / block];
        sum.fill(0);
        std::vector<double> membership(map.unit_count());
        for (std::size_t a = begin; a < end; ++a) {
            const std::size_t i = asked[a];
            const float* c = &likelihood[i * k_count];
            double pooled = 0;
            for (std::size_t k = 0; k < k_count; ++k) pooled += shares[k] * static_cast<double>(c[k]);
            const double weight = testimony.observed[i] ? 1 : settings.error_unobserved_weight;
            // Far from every contact all errors say the same.
            const double widest = std::hypot(of_stated.back() * stated_m, testimony.position_sd_m[i]);
            if (!map.nearest_contact(testimony.place[i], 4 * widest)) continue;
            for (std::size_t s = 0; s < of_stated.size(); ++s) {
                std::fill(membership.begin(), membership.end(), 0.0);
                map.membership(testimony.place[i], std::hypot(of_stated[s] * stated_m, testimony.position_sd_m[i]), membership);
                double explained = 0, on_map = 0;
                for (std::size_t k = 0; k < k_count; ++k) {
                    const double b = membership[static_cast<std::size_t>(units[k])];
                    explained += b * static_cast<double>(c[k]);
                    on_map += b;
                }
                if (on_map < 1e-6) continue;
                sum[s] += weight * std::log(std::max((1 - settings.error_share) * explained / on_map + settings.error_share * pooled, 1e-12));
            }
        }
    });
    std::array<double, of_stated.size()> posterior{};
    for (std::size_t s = 0; s < of_stated.size(); ++s) {
        const double off = std::log(of_stated[s]) / settings.error_prior_log_sd;
        posterior[s] = -0.5 * off * off;
        for (const auto& sum : sums) posterior[s] += sum[s];
    }
    const auto best = static_cast<std::size_t>(std::max_element(posterior.begin(), posterior.end()) - posterior.begin());
    double log_error = std::log(of_stated[best]);
    if (best > 0 && best + 1 < of_stated.size()) {
        log_error = vertex({std::log(of_stated[best - 1]), std::log(of_stated[best]), std::log(of_stated[best + 1])},
                           {posterior[best - 1], posterior[best], posterior[best + 1]});
    }
    return std::max(std::min(least_error_m, stated_m), stated_m * std::exp(log_error));
}

}  // namespace subcrop::infer
