#include "infer/learning/continuous_density.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "infer/statistics/normal_inverse_wishart.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

/// Maximum number of kernel evaluations for a channel. Above it, kernel centres are merged.
constexpr double kernel_budget = 4e8;
constexpr std::size_t max_centres = 3000;

/// The posterior predictive of one unit without one fold, for each spread a value may have.
struct Base {
    Vector location;
    double degrees = 1;
    double count = 0;
    std::vector<Whitening> by_spread;
};

/// A kernel centre's weights for each unit, within one fold.
struct CentreWeights {
    std::uint32_t centre;
    std::vector<double> units;
};

}  // namespace

struct ContinuousDensity::State {
    std::size_t dimensions = 0, units = 0, folds = 0;
    const Channel* channel = nullptr;
    const ValueFolds* values = nullptr;
    SignatureOptions options;
    std::vector<double> coordinates;  ///< of the values, relative to their pooled mean
    Matrix pooled;                    ///< pooled covariance within units
    std::vector<Matrix> spreads;
    std::vector<double> centres;  ///< centre_count x dimensions
    std::vector<std::uint8_t> centre_spread;
    std::vector<double> centre_weights;                    ///< centre_count x units
    std::vector<std::vector<CentreWeights>> fold_weights;  ///< for each fold
    std::vector<Base> bases;                               ///< (folds + 1) x units; the last for nothing left out

    std::size_t centre_count() const { return centre_spread.size(); }
    std::size_t spread_of(std::int32_t value) const {
        return channel->spread_of_value.empty() ? 0 : channel->spread_of_value[static_cast<std::size_t>(value)];
    }
    const double* coordinates_of(std::int32_t value) const {
        return coordinates.data() + static_cast<std::size_t>(value) * dimensions;
    }
    Vector vector_of(std::int32_t value) const {
        return Eigen::Map<const Vector>(coordinates_of(value), static_cast<Eigen::Index>(dimensions));
    }

    void learn_bases();
    void place_centres();
    double base_log_density(const Base& base, std::int32_t value) const;
};

void ContinuousDensity::State::learn_bases() {
    // the pooled mean first, because sums of squares about it lose no digits
    std::vector<double> mean(dimensions, 0.0);
    double total = 0;
    for (std::size_t p = 0; p < values->pairs.size(); ++p) {
        double weight = 0;
        for (std::size_t u = 0; u < units; ++u) weight += values->weights[p * units + u];
        total += weight;
        const double* x = channel->coordinates.data() + static_cast<std::size_t>(values->pairs[p].value) * dimensions;
        for (std::size_t d = 0; d < dimensions; ++d) mean[d] += weight * x[d];
    }
    if (total > 0) {
        for (double& m : mean) m /= total;
    }
    coordinates = channel->coordinates;
    for (std::size_t i = 0; i < coordinates.size(); ++i) coordinates[i] -= mean[i % dimensions];

    std::vector<Moments> fold_moments((folds + 1) * units, Moments(dimensions));
    std::vector<Moments> all(units, Moments(dimensions));
    for (std::size_t p = 0; p < values->pairs.size(); ++p) {
        const auto [value, fold] = values->pairs[p];
        for (std::size_t u = 0; u < units; ++u) {
            const double weight = values->weights[p * units + u];
            if (weight <= 0) continue;
            fold_moments[fold * units + u].add(vector_of(value), weight);
            all[u].add(vector_of(value), weight);
        }
    }
    for (const Channel::Expectation& expected : channel->expected) {
        all[static_cast<std::size_t>(expected.unit)].add(vector_of(expected.value), expected.stops);
    }

    const auto n = static_cast<Eigen::Index>(dimensions);
    pooled = Matrix::Zero(n, n);
    double count = 0;
    for (const Moments& unit : all) {
        pooled += unit.scatter();
        count += unit.count;
    }
    pooled /= std::max(count, 1.0);
    // A constant channel still needs an invertible covariance.
    const double scale = std::max(pooled.diagonal().maxCoeff(), 1e-12);
    pooled.diagonal().array() += 1e-6 * scale;
    if (dimensions > 0 && pooled.diagonal().maxCoeff() < 1e-9) pooled.diagonal().array() += 1e-9;

    NormalInverseWishart prior;
    prior.mean = Vector::Zero(n);  // the pooled mean is the origin
    prior.mean_count = options.prior_mean_stops;
    prior.degrees = static_cast<double>(dimensions) + 1 + options.prior_scatter_stops;
    prior.scatter = pooled * options.prior_scatter_stops;
    for (std::size_t fold = 0; fold <= folds; ++fold) {
        for (std::size_t u = 0; u < units; ++u) {
            Moments left = all[u];
            if (fold < folds) left -= fold_moments[fold * units + u];
            StudentT predictive = prior.updated(left).predictive();
            Base base{std::move(predictive.location), predictive.degrees, std::max(left.count, 0.0), {}};
            for (const Matrix& spread : spreads) base.by_spread.emplace_back(predictive.shape + spread);
            bases.push_back(std::move(base));
        }
    }
}

void ContinuousDensity::State::place_centres() {
    // Values to learn from. If they are too many, they are merged on a lattice in whitened space. Its step is doubled
    // until they are few enough. A merged centre is the weighted mean of its values.
    std::vector<std::uint8_t> teaches(channel->value_count, 0);
    for (std::size_t p = 0; p < values->pairs.size(); ++p) {
        for (std::size_t u = 0; u < units; ++u) {
            if (values->weights[p * units + u] > 0) teaches[static_cast<std::size_t>(values->pairs[p].value)] = 1;
        }
    }
    for (const auto& expected : channel->expected) teaches[static_cast<std::size_t>(expected.value)] = 1;
    const auto teaching = static_cast<std::size_t>(std::count(teaches.begin(), teaches.end(), 1));
    const auto limit = static_cast<std::size_t>(
        std::clamp(kernel_budget / static_cast<double>(std::max<std::size_t>(channel->value_count, 1)), 200.0,
                   static_cast<double>(max_centres)));

    std::vector<std::uint32_t> centre_of_value(channel->value_count, 0);
    if (teaching <= limit) {
        for (std::size_t v = 0; v < channel->value_count; ++v) {
            if (!teaches[v]) continue;
            centre_of_value[v] = static_cast<std::uint32_t>(centre_count());
            centre_spread.push_back(static_cast<std::uint8_t>(spread_of(static_cast<std::int32_t>(v))));
        }
    } else {
        const Whitening whitening(pooled);
        for (double step = 0.1;; step *= 1.5) {
            std::map<std::vector<std::int32_t>, std::uint32_t> cells;
            centre_spread.clear();
            for (std::size_t v = 0; v < channel->value_count && cells.size() <= limit; ++v) {
                if (!teaches[v]) continue;
                const Vector z = whitening.inverse_root * vector_of(static_cast<std::int32_t>(v));
                std::vector<std::int32_t> cell{static_cast<std::int32_t>(spread_of(static_cast<std::int32_t>(v)))};
                for (Eigen::Index d = 0; d < z.size(); ++d) {
                    cell.push_back(static_cast<std::int32_t>(std::lround(z[d] / step)));
                }
                const auto [same, fresh] =
                    cells.try_emplace(std::move(cell), static_cast<std::uint32_t>(centre_count()));
                if (fresh) centre_spread.push_back(static_cast<std::uint8_t>(same->first.front()));
                centre_of_value[v] = same->second;
            }
            if (cells.size() <= limit) break;
        }
    }

    centres.assign(centre_count() * dimensions, 0.0);
    centre_weights.assign(centre_count() * units, 0.0);
    std::vector<double> centre_totals(centre_count(), 0.0);
    std::vector<std::map<std::uint32_t, std::vector<double>>> by_fold(folds);
    auto add = [&](std::int32_t value, std::size_t unit, double weight) {
        const std::uint32_t centre = centre_of_value[static_cast<std::size_t>(value)];
        centre_weights[centre * units + unit] += weight;
        centre_totals[centre] += weight;
        for (std::size_t d = 0; d < dimensions; ++d) {
            centres[centre * dimensions + d] += weight * coordinates_of(value)[d];
        }
    };
    for (std::size_t p = 0; p < values->pairs.size(); ++p) {
        const auto [value, fold] = values->pairs[p];
        for (std::size_t u = 0; u < units; ++u) {
            const double weight = values->weights[p * units + u];
            if (weight <= 0) continue;
            add(value, u, weight);
            if (fold < folds) {
                auto& sums = by_fold[fold][centre_of_value[static_cast<std::size_t>(value)]];
                sums.resize(units, 0.0);
                sums[u] += weight;
            }
        }
    }
    for (const auto& expected : channel->expected) {
        add(expected.value, static_cast<std::size_t>(expected.unit), expected.stops);
    }
    for (std::size_t i = 0; i < centres.size(); ++i) centres[i] /= centre_totals[i / dimensions];
    for (auto& sums : by_fold) {
        auto& list = fold_weights.emplace_back();
        for (auto& [centre, weights] : sums) list.push_back({centre, std::move(weights)});
    }
}

double ContinuousDensity::State::base_log_density(const Base& base, std::int32_t value) const {
    const Whitening& shape = base.by_spread[spread_of(value)];
    return student_log_density(shape.squared_distance(coordinates_of(value), base.location.data()), base.degrees,
                               shape);
}

ContinuousDensity::ContinuousDensity(const Channel& channel, const Training& training, const ValueFolds& values,
                                     const SignatureOptions& options)
    : state_(std::make_unique<State>()) {
    State& s = *state_;
    s.channel = &channel;
    s.values = &values;
    s.options = options;
    s.dimensions = channel.dimensions;
    s.units = training.units;
    s.folds = training.folds;
    const auto n = static_cast<Eigen::Index>(s.dimensions);
    for (const auto& spread : channel.spreads) s.spreads.emplace_back(Eigen::Map<const Matrix>(spread.data(), n, n));
    if (s.spreads.empty()) s.spreads.push_back(Matrix::Zero(n, n));
    s.learn_bases();
    s.place_centres();
}

ContinuousDensity::~ContinuousDensity() = default;

std::vector<double> ContinuousDensity::densities(const std::vector<std::uint32_t>& pairs, double bandwidth,
                                                 unsigned threads) const {
    const State& s = *state_;
    const std::size_t spread_count = s.spreads.size();
    std::vector<Whitening> kernels;
    for (const Matrix& a : s.spreads) {
        for (const Matrix& b : s.spreads) kernels.emplace_back(bandwidth * bandwidth * s.pooled + a + b);
    }
    const double log_two_pi = std::log(2 * std::numbers::pi) * static_cast<double>(s.dimensions) / 2;

    std::vector<double> result(pairs.size() * s.units);
    parallel_blocks(pairs.size(), 64, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> kernel(s.centre_count());
        std::vector<double> total(s.units);
        std::int32_t value_done = -1;
        for (std::size_t i = begin; i < end; ++i) {
            const auto [value, fold] = s.values->pairs[pairs[i]];
            if (value != value_done) {
                value_done = value;
                std::fill(total.begin(), total.end(), 0.0);
                const double* x = s.coordinates_of(value);
                const std::size_t first_kernel = s.spread_of(value) * spread_count;
                for (std::size_t c = 0; c < s.centre_count(); ++c) {
                    const Whitening& w = kernels[first_kernel + s.centre_spread[c]];
                    const double q = w.squared_distance(x, &s.centres[c * s.dimensions]);
                    kernel[c] = std::exp(-0.5 * q - w.log_root_determinant - log_two_pi);
                    for (std::size_t u = 0; u < s.units; ++u) total[u] += kernel[c] * s.centre_weights[c * s.units + u];
                }
            }
            double* out = &result[i * s.units];
            std::copy(total.begin(), total.end(), out);
            if (fold < s.folds) {
                for (const CentreWeights& own : s.fold_weights[fold]) {
                    for (std::size_t u = 0; u < s.units; ++u) out[u] -= kernel[own.centre] * own.units[u];
                }
            }
            for (std::size_t u = 0; u < s.units; ++u) {
                const Base& base = s.bases[fold * s.units + u];
                const double kernels_sum = std::max(out[u], 0.0);  // after subtraction this may be rounding error
                out[u] = (s.options.base_stops * std::exp(s.base_log_density(base, value)) + kernels_sum) /
                         (s.options.base_stops + base.count);
            }
        }
    });
    return result;
}

}  // namespace subcrop::infer
