#include "infer/description/told_apart.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <tuple>

namespace subcrop::infer {

namespace {

constexpr std::size_t fewest_known = 5, fewest_of_either = 3;
constexpr std::size_t max_differences = 3;

std::string percent(double share) { return std::to_string(std::lround(100 * share)) + " %"; }

}  // namespace

ChannelUse::ChannelUse(const Fit::Reckoning& reckoning) : reckoning_(reckoning), units_(reckoning.units()) {
    for (const Channel& channel : reckoning.channels) use_.emplace_back(channel.value_count * units_, 0.0);
}

void ChannelUse::add(std::size_t stop, std::size_t unit, double weight) {
    for (std::size_t c = 0; c < use_.size(); ++c) {
        const std::int32_t value = reckoning_.channels[c].value_of_stop[stop];
        if (value >= 0) use_[c][static_cast<std::size_t>(value) * units_ + unit] += weight;
    }
}

void ChannelUse::settle() {
    for (std::size_t c = 0; c < use_.size(); ++c) {
        const Channel& channel = reckoning_.channels[c];
        std::vector<double>& sums = sums_.emplace_back(units_, 0.0);
        std::vector<double>& of_labels = label_sums_.emplace_back(channel.labels.size() * units_, 0.0);
        for (std::size_t v = 0; v < channel.value_count; ++v) {
            const double* shares = &use_[c][v * units_];
            const auto add = [&](double* to) {
                for (std::size_t u = 0; u < units_; ++u) to[u] += shares[u];
            };
            add(sums.data());
            if (channel.kind == Channel::Kind::set)
                for (const auto label : channel.items[v]) add(&of_labels[label * units_]);
            else if (!channel.labels.empty())
                add(&of_labels[v * units_]);
        }
    }
}

std::pair<std::string, std::string> ChannelUse::usual_words(std::size_t channel, std::size_t a, std::size_t b) const {
    const Channel& one = reckoning_.channels[channel];
    const auto of = [&](std::size_t label, std::size_t unit) { return label_sums_[channel][label * units_ + unit]; };
    const double all_a = sum_of(channel, a), all_b = sum_of(channel, b);
    std::size_t best = 0;
    double most = -1;
    for (std::size_t label = 0; label < one.labels.size(); ++label) {
        const double apart = std::abs(of(label, a) / all_a - of(label, b) / all_b);
        if (apart <= most + 1e-12) continue;
        most = apart;
        best = label;
    }
    if (most <= 0) return {};
    return {one.labels[best] + " at " + percent(of(best, a) / all_a),
            one.labels[best] + " at " + percent(of(best, b) / all_b)};
}

std::pair<std::string, std::string> ChannelUse::usual(std::size_t channel, std::size_t a, std::size_t b) const {
    const Channel& one = reckoning_.channels[channel];
    if (sum_of(channel, a) <= 0 || sum_of(channel, b) <= 0) return {};
    if (one.kind != Channel::Kind::continuous) return usual_words(channel, a, b);
    if (one.labels.empty() && one.columns.empty()) return {};
    const auto commonest_of = [&](std::size_t unit) {
        std::size_t commonest = 0;
        for (std::size_t v = 1; v < one.value_count; ++v)
            if (share_of(channel, v, unit) > share_of(channel, commonest, unit) + 1e-12) commonest = v;
        return one.value_text(static_cast<std::int32_t>(commonest));
    };
    if (one.dimensions > 1 && !one.labels.empty()) {
        const std::string of_a = commonest_of(a), of_b = commonest_of(b);
        if (of_a != of_b) return {of_a + " most often", of_b + " most often"};
        return usual_words(channel, a, b);
    }
    const auto medians = [&](std::size_t unit) {
        std::string words;
        for (std::size_t d = 0; d < one.dimensions; ++d)
            words += (d == 0 ? "median " : ", ") + (one.dimensions > 1 ? one.columns[d] + ' ' : "") +
                     quantile_text(channel, unit, d, 0.5);
        return words;
    };
    return {medians(a), medians(b)};
}

std::string ChannelUse::quantile_text(std::size_t channel, std::size_t unit, std::size_t dimension,
                                      double share) const {
    const Channel& one = reckoning_.channels[channel];
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t v = 0; v < one.value_count; ++v)
        order.emplace_back(one.coordinates[v * one.dimensions + dimension], v);
    std::sort(order.begin(), order.end());
    const double wanted = share * sum_of(channel, unit);
    double below = 0;
    std::size_t found = 0;
    for (const auto& [coordinate, v] : order) {
        below += share_of(channel, v, unit);
        found = v;
        if (below >= wanted - 1e-9) break;
    }
    if (one.dimensions == 1) return one.value_text(static_cast<std::int32_t>(found));
    const double coordinate = one.coordinates[found * one.dimensions + dimension];
    char text[32];
    std::snprintf(text, sizeof text, "%.3g", one.log_scale ? std::exp(coordinate) : coordinate);
    return text;
}

std::string ChannelUse::described(std::size_t channel, std::size_t unit) const {
    const Channel& one = reckoning_.channels[channel];
    const double all = sum_of(channel, unit);
    if (all <= 0) return {};
    if (one.kind != Channel::Kind::continuous) {
        SetTally words;
        words.stops = all;
        for (std::size_t label = 0; label < one.labels.size(); ++label) {
            double sum = 0;
            for (std::size_t v = 0; v < one.value_count; ++v) {
                const bool has = one.kind == Channel::Kind::category
                                     ? v == label
                                     : std::find(one.items[v].begin(), one.items[v].end(), label) != one.items[v].end();
                if (has) sum += share_of(channel, v, unit);
            }
            if (sum > 0) words.values.push_back({one.labels[label], sum});
        }
        std::stable_sort(words.values.begin(), words.values.end(),
                         [](const Counted& a, const Counted& b) { return a.count > b.count; });
        return words.text();
    }
    if (one.columns.empty()) return {};
    std::string words;
    for (std::size_t d = 0; d < one.dimensions; ++d) {
        words += (d == 0 ? "median " : "; ") + (one.dimensions > 1 ? one.columns[d] + ' ' : "") +
                 quantile_text(channel, unit, d, 0.5) + " (quartiles " + quantile_text(channel, unit, d, 0.25) +
                 " to " + quantile_text(channel, unit, d, 0.75) +
                 (d + 1 == one.dimensions ? ", " + about(all, "stop", "stops") : "") + ")";
    }
    return words;
}

std::vector<Difference> differences(const Fit::Reckoning& r, std::span<const std::size_t> known, const ChannelUse& use,
                                    model::UnitIndex a, model::UnitIndex b) {
    struct Found {
        std::size_t channel;
        double mean;
        Difference difference;
    };
    std::vector<Found> found;
    for (std::size_t c = 0; c < r.channels.size(); ++c) {
        double sum = 0;
        Difference one;
        std::size_t of_a = 0;
        for (const std::size_t s : known) {
            if ((r.judges[s] != a && r.judges[s] != b) || !r.signatures[c].speaks(s)) continue;
            const auto row = r.signatures[c].row(s);
            const double towards_a =
                static_cast<double>(row[static_cast<std::size_t>(a)] - row[static_cast<std::size_t>(b)]);
            const double right = r.judges[s] == a ? towards_a : -towards_a;
            sum += r.weights[c] * right;
            one.right += right > 0 ? 1 : 0;
            ++one.known;
            of_a += r.judges[s] == a ? 1 : 0;
        }
        if (one.known < fewest_known || of_a < fewest_of_either || one.known - of_a < fewest_of_either || sum <= 0)
            continue;
        one.channel = r.channels[c].name;
        one.factor = std::exp(sum / static_cast<double>(one.known));
        found.push_back({c, sum / static_cast<double>(one.known), std::move(one)});
    }
    std::stable_sort(found.begin(), found.end(), [](const Found& x, const Found& y) { return x.mean > y.mean; });
    std::vector<Difference> best;
    for (std::size_t i = 0; i < std::min(max_differences, found.size()); ++i) {
        std::tie(found[i].difference.here, found[i].difference.there) =
            use.usual(found[i].channel, static_cast<std::size_t>(a), static_cast<std::size_t>(b));
        best.push_back(std::move(found[i].difference));
    }
    return best;
}

}  // namespace subcrop::infer
