#include "subcrop/infer/signature.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "infer/learning/continuous_density.hpp"
#include "infer/learning/value_folds.hpp"

namespace subcrop::infer {

namespace {

/// Minimum density. It keeps one unusual value from deciding everything, and logarithms finite.
constexpr double min_log_density = -230;

/// Appends densities (rows x units) to a signature, as logs relative to their average.
void append_rows(const std::vector<double>& log_densities, std::span<const double> log_shares, Signature& signature) {
    const std::size_t units = signature.units;
    const std::size_t rows = log_densities.size() / units;
    signature.relative.reserve(signature.relative.size() + rows * units);
    for (std::size_t r = 0; r < rows; ++r) {
        const double* row = &log_densities[r * units];
        double greatest = -1e300;
        for (std::size_t u = 0; u < units; ++u) greatest = std::max(greatest, row[u] + log_shares[u]);
        double sum = 0;
        for (std::size_t u = 0; u < units; ++u) sum += std::exp(row[u] + log_shares[u] - greatest);
        const double average = greatest + std::log(sum);
        signature.average.push_back(static_cast<float>(average));
        for (std::size_t u = 0; u < units; ++u) signature.relative.push_back(static_cast<float>(row[u] - average));
    }
}

void take_logs(std::vector<double>& densities) {
    for (double& density : densities)
        density = density > 0 ? std::max(std::log(density), min_log_density) : min_log_density;
}

std::vector<double> log_of(const std::vector<double>& shares) {
    std::vector<double> logs;
    logs.reserve(shares.size());
    for (const double share : shares) logs.push_back(std::log(std::max(share, 1e-12)));
    return logs;
}

/// The row and the unit of each judge with a value; used again for every weight.
struct JudgedRow {
    std::uint32_t row;
    std::uint32_t unit;
};

std::vector<JudgedRow> judged_rows(const Signature& signature, const Judges& judges) {
    std::vector<JudgedRow> rows;
    for (std::size_t s = 0; s < judges.size(); ++s) {
        if (judges[s] >= 0 && signature.speaks(s))
            rows.push_back({signature.row_of_stop[s], static_cast<std::uint32_t>(judges[s])});
    }
    return rows;
}

double mean_log_loss(const Signature& signature, const std::vector<JudgedRow>& rows, std::span<const double> log_shares,
                     double weight) {
    const std::size_t units = signature.units;
    std::vector<double> exponents(units);
    double loss = 0;
    for (const auto& [row, own] : rows) {
        const float* relative = &signature.relative[row * units];
        double greatest = -1e300;
        for (std::size_t u = 0; u < units; ++u) {
            exponents[u] = weight * static_cast<double>(relative[u]) + log_shares[u];
            greatest = std::max(greatest, exponents[u]);
        }
        double sum = 0;
        for (const double exponent : exponents) sum += std::exp(exponent - greatest);
        loss += greatest + std::log(sum) - exponents[own];
    }
    return rows.empty() ? 0 : loss / static_cast<double>(rows.size());
}

/// Best of a grid of weights for one channel alone.
double best_log_loss(const Signature& signature, const std::vector<JudgedRow>& judges,
                     std::span<const double> log_shares) {
    double best = std::numeric_limits<double>::infinity();
    for (int step = 1; step <= 10; ++step) {
        best = std::min(best, mean_log_loss(signature, judges, log_shares, 0.1 * step));
    }
    return best;
}

/// The bandwidth with the lowest log loss at the judges (cross-validation; at most 2,000 pairs of judges are used).
double choose_bandwidth(const ContinuousDensity& density, const ValueFolds& values, const Training& training,
                        const Judges& judges, std::span<const double> log_shares, unsigned threads,
                        const SignatureOptions& options) {
    std::vector<std::uint8_t> judged(values.pairs.size(), 0);
    std::size_t count = 0;
    for (std::size_t s = 0; s < judges.size(); ++s) {
        if (judges[s] < 0 || values.pair_of_stop[s] == Signature::no_row || judged[values.pair_of_stop[s]]) continue;
        judged[values.pair_of_stop[s]] = 1;
        ++count;
    }
    constexpr std::size_t most = 2000;
    const std::size_t stride = std::max<std::size_t>(1, count / most);
    std::vector<std::uint32_t> asked;
    std::vector<std::uint32_t> row_of_pair(values.pairs.size(), Signature::no_row);
    std::size_t seen = 0;
    for (std::uint32_t p = 0; p < values.pairs.size(); ++p) {
        if (!judged[p] || seen++ % stride != 0) continue;
        row_of_pair[p] = static_cast<std::uint32_t>(asked.size());
        asked.push_back(p);
    }
    constexpr double usual = 0.35;
    if (asked.size() < 10) return usual;

    Signature trial;
    trial.units = training.units;
    for (const std::uint32_t pair : values.pair_of_stop) {
        trial.row_of_stop.push_back(pair == Signature::no_row ? pair : row_of_pair[pair]);
    }
    const std::vector<JudgedRow> judges_asked = judged_rows(trial, judges);
    double best = std::numeric_limits<double>::infinity();
    double chosen = usual;
    for (const double bandwidth : options.bandwidths) {
        trial.relative.clear();
        trial.average.clear();
        std::vector<double> logs = density.densities(asked, bandwidth, threads);
        take_logs(logs);
        append_rows(logs, log_shares, trial);
        const double loss = best_log_loss(trial, judges_asked, log_shares);
        if (loss < best) {
            best = loss;
            chosen = bandwidth;
        }
    }
    return chosen;
}

/// Weighted counts for each unit: total, and for each fold.
class FoldCounts {
public:
    FoldCounts(std::size_t things, const Training& training)
        : units_(training.units),
          folds_(training.folds),
          things_(things),
          counts_((folds_ + 1) * things * units_, 0.0) {}

    void add(std::size_t fold, std::size_t thing, std::size_t unit, double weight) {
        counts_[index(folds_, thing, unit)] += weight;
        if (fold < folds_) counts_[index(fold, thing, unit)] += weight;
    }
    /// Without one fold; `fold` equal to the number of folds: all.
    double without(std::size_t fold, std::size_t thing, std::size_t unit) const {
        const double all = counts_[index(folds_, thing, unit)];
        return fold < folds_ ? std::max(all - counts_[index(fold, thing, unit)], 0.0) : all;
    }

private:
    std::size_t index(std::size_t fold, std::size_t thing, std::size_t unit) const {
        return (fold * things_ + thing) * units_ + unit;
    }
    std::size_t units_, folds_, things_;
    std::vector<double> counts_;
};

/// Dirichlet-multinomial, shrunk to the pooled shares.
std::vector<double> category_log_densities(const Channel& channel, const Training& training, const ValueFolds& values,
                                           const SignatureOptions& options) {
    const std::size_t units = training.units, words = channel.value_count;
    FoldCounts counts(words, training), totals(1, training);
    auto add = [&](std::size_t fold, std::int32_t value, std::size_t unit, double weight) {
        counts.add(fold, static_cast<std::size_t>(value), unit, weight);
        totals.add(fold, 0, unit, weight);
    };
    for (std::size_t p = 0; p < values.pairs.size(); ++p) {
        for (std::size_t u = 0; u < units; ++u) {
            add(values.pairs[p].fold, values.pairs[p].value, u, values.weights[p * units + u]);
        }
    }
    for (const auto& e : channel.expected) add(training.folds, e.value, static_cast<std::size_t>(e.unit), e.stops);

    std::vector<double> logs;
    logs.reserve(values.pairs.size() * units);
    const double a = options.category_stops;
    for (const auto& [value, fold] : values.pairs) {
        double pooled = 0.5, all = 0.5 * static_cast<double>(words);
        for (std::size_t u = 0; u < units; ++u) {
            pooled += counts.without(fold, static_cast<std::size_t>(value), u);
            all += totals.without(fold, 0, u);
        }
        const double base = pooled / all;
        for (std::size_t u = 0; u < units; ++u) {
            logs.push_back(std::log((counts.without(fold, static_cast<std::size_t>(value), u) + a * base) /
                                    (totals.without(fold, 0, u) + a)));
        }
    }
    return logs;
}

/// Beta-Bernoulli on the presence of each item, shrunk to its pooled share; absence counts only in a complete list.
std::vector<double> set_log_densities(const Channel& channel, const Training& training, const ValueFolds& values,
                                      const SignatureOptions& options) {
    const std::size_t units = training.units, item_count = channel.labels.size();
    FoldCounts counts(item_count, training), totals(1, training);
    auto add = [&](std::size_t fold, std::int32_t value, std::size_t unit, double weight) {
        for (const std::uint32_t item : channel.items[static_cast<std::size_t>(value)])
            counts.add(fold, item, unit, weight);
        totals.add(fold, 0, unit, weight);
    };
    for (std::size_t p = 0; p < values.pairs.size(); ++p) {
        for (std::size_t u = 0; u < units; ++u) {
            add(values.pairs[p].fold, values.pairs[p].value, u, values.weights[p * units + u]);
        }
    }
    for (const auto& e : channel.expected) add(training.folds, e.value, static_cast<std::size_t>(e.unit), e.stops);

    // log odds and log absence of every item, fold by fold
    const std::size_t folds = training.folds + std::size_t{1};
    std::vector<double> present(folds * item_count * units), absent(folds * item_count * units);
    const double a = options.category_stops;
    for (std::size_t fold = 0; fold < folds; ++fold) {
        double all = 1;
        for (std::size_t u = 0; u < units; ++u) all += totals.without(fold, 0, u);
        for (std::size_t item = 0; item < item_count; ++item) {
            double pooled = 0.5;
            for (std::size_t u = 0; u < units; ++u) pooled += counts.without(fold, item, u);
            for (std::size_t u = 0; u < units; ++u) {
                const double p = (counts.without(fold, item, u) + a * pooled / all) / (totals.without(fold, 0, u) + a);
                present[(fold * item_count + item) * units + u] = std::log(p);
                absent[(fold * item_count + item) * units + u] = std::log1p(-std::min(p, 1 - 1e-9));
            }
        }
    }
    std::vector<double> logs(values.pairs.size() * units, 0.0);
    for (std::size_t p = 0; p < values.pairs.size(); ++p) {
        const auto [value, fold] = values.pairs[p];
        const auto& items = channel.items[static_cast<std::size_t>(value)];
        const bool complete = channel.complete[static_cast<std::size_t>(value)] != 0;
        std::size_t next = 0;
        for (std::size_t item = 0; item < item_count; ++item) {
            const bool here = next < items.size() && items[next] == item;
            next += here;
            if (!here && !complete) continue;
            const auto& table = here ? present : absent;
            for (std::size_t u = 0; u < units; ++u) {
                logs[p * units + u] += table[(fold * item_count + item) * units + u];
            }
        }
    }
    return logs;
}

}  // namespace

double held_out_log_loss(const Signature& signature, const Judges& judges, std::span<const double> log_shares,
                         double weight) {
    return mean_log_loss(signature, judged_rows(signature, judges), log_shares, weight);
}

Signature learn_signature(const Channel& channel, const Training& training, const Judges& judges, unsigned threads,
                          const SignatureOptions& options) {
    const ValueFolds values = pair_values_with_folds(channel, training);
    const std::vector<double> log_shares = log_of(training.shares);
    Signature signature;
    signature.units = training.units;
    signature.row_of_stop = values.pair_of_stop;
    std::vector<double> logs;
    switch (channel.kind) {
        case Channel::Kind::continuous: {
            const ContinuousDensity density(channel, training, values, options);
            signature.bandwidth = choose_bandwidth(density, values, training, judges, log_shares, threads, options);
            std::vector<std::uint32_t> all(values.pairs.size());
            std::iota(all.begin(), all.end(), 0u);
            logs = density.densities(all, signature.bandwidth, threads);
            take_logs(logs);
            break;
        }
        case Channel::Kind::category:
            logs = category_log_densities(channel, training, values, options);
            break;
        case Channel::Kind::set:
            logs = set_log_densities(channel, training, values, options);
            break;
    }
    append_rows(logs, log_shares, signature);
    return signature;
}

}  // namespace subcrop::infer
