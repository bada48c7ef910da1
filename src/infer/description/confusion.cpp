#include "infer/description/confusion.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

namespace {

/// With fewer known stops than this, no usual mistake is stated.
constexpr std::size_t fewest_known = 5;

}  // namespace

std::vector<std::size_t> known_stops(const Fit::Reckoning& r) {
    std::vector<std::size_t> known;
    for (std::size_t s = 0; s < r.judges.size(); ++s)
        if (r.judges[s] != model::no_unit) known.push_back(s);
    return known;
}

BestChannel best_channel(const Fit::Reckoning& r, std::span<const std::size_t> known, model::UnitIndex a,
                         model::UnitIndex b) {
    BestChannel result;
    double best = 0;
    for (std::size_t c = 0; c < r.channels.size(); ++c) {
        double sum = 0;
        std::size_t count = 0;
        for (const std::size_t s : known) {
            if ((r.judges[s] != a && r.judges[s] != b) || !r.signatures[c].speaks(s)) continue;
            const auto row = r.signatures[c].row(s);
            const double towards_a =
                static_cast<double>(row[static_cast<std::size_t>(a)] - row[static_cast<std::size_t>(b)]);
            sum += r.weights[c] * (r.judges[s] == a ? towards_a : -towards_a);
            ++count;
        }
        if (count < fewest_known || sum / static_cast<double>(count) <= best) continue;
        best = sum / static_cast<double>(count);
        result.name = r.channels[c].name;
    }
    result.factor = std::exp(best);
    return result;
}

std::vector<Confusion> confusions(const Fit::Reckoning& r) {
    const std::size_t units = r.units();
    std::vector<Confusion> result(units);
    std::vector<std::size_t> taken(units * units, 0);
    std::vector<double> probability(units * units, 0.0), p(units);
    const std::vector<std::size_t> known = known_stops(r);
    for (const std::size_t s : known) {
        const bool heard =
            std::any_of(r.signatures.begin(), r.signatures.end(), [&](const Signature& one) { return one.speaks(s); });
        if (!heard) continue;
        const auto own = static_cast<std::size_t>(r.judges[s]);
        ++result[own].known;
        r.soil(s, p);
        for (std::size_t u = 0; u < units; ++u) p[u] += r.log_shares[u];
        const auto best = static_cast<std::size_t>(std::max_element(p.begin(), p.end()) - p.begin());
        ++taken[own * units + best];
        double sum = 0;
        for (std::size_t u = 0; u < units; ++u) sum += std::exp(p[u] - p[best]);
        for (std::size_t u = 0; u < units; ++u) probability[own * units + u] += std::exp(p[u] - p[best]) / sum;
    }
    for (std::size_t own = 0; own < units; ++own) {
        if (result[own].known == 0) continue;
        for (std::size_t u = 0; u < units; ++u) {
            result[own].probability.push_back(probability[own * units + u] / static_cast<double>(result[own].known));
            result[own].named.push_back(taken[own * units + u]);
        }
    }
    for (std::size_t own = 0; own < units; ++own) {
        if (result[own].known < fewest_known) continue;
        std::size_t other = own;
        for (std::size_t u = 0; u < units; ++u) {
            if (u == own || taken[own * units + u] == 0) continue;
            const bool more = other == own || taken[own * units + u] > taken[own * units + other] ||
                              (taken[own * units + u] == taken[own * units + other] &&
                               probability[own * units + u] > probability[own * units + other]);
            if (more) other = u;
        }
        if (other == own) continue;
        result[own].unit = static_cast<model::UnitIndex>(other);
        result[own].taken = taken[own * units + other];
        const BestChannel apart =
            best_channel(r, known, static_cast<model::UnitIndex>(own), static_cast<model::UnitIndex>(other));
        result[own].channel = apart.name;
        result[own].channel_factor = apart.factor;
    }
    return result;
}

}  // namespace subcrop::infer
