#include "confusion.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

namespace {

/// Fewer known stops than this say nothing of what a unit is usually taken for.
constexpr std::size_t fewest_known = 5;

/// The channel that on average makes the right one of two units likeliest at the stops where either is known to lie.
void tell_apart(const Fit::Reckoning& r, const std::vector<std::size_t>& known, std::size_t a, std::size_t b, Confusion& into) {
    double best = 0;
    for (std::size_t c = 0; c < r.channels.size(); ++c) {
        double sum = 0;
        std::size_t count = 0;
        for (const std::size_t s : known) {
            const bool is_a = r.judges[s] == static_cast<model::UnitIndex>(a), is_b = r.judges[s] == static_cast<model::UnitIndex>(b);
            if ((!is_a && !is_b) || !r.signatures[c].speaks(s)) continue;
            const auto row = r.signatures[c].row(s);
            const double towards_a = static_cast<double>(row[a] - row[b]);
            sum += r.weights[c] * (is_a ? towards_a : -towards_a);
            ++count;
        }
        if (count < fewest_known || sum / static_cast<double>(count) <= best) continue;
        best = sum / static_cast<double>(count);
        into.channel = r.channels[c].name;
    }
    into.channel_factor = std::exp(best);
}

}  // namespace

std::vector<Confusion> confusions(const Fit::Reckoning& r) {
    const std::size_t units = r.units();
    std::vector<Confusion> result(units);
    std::vector<std::size_t> taken(units * units, 0);
    std::vector<double> probability(units * units, 0.0), p(units);
    std::vector<std::size_t> known;  // few of all stops
    for (std::size_t s = 0; s < r.judges.size(); ++s) {
        if (r.judges[s] != model::no_unit) known.push_back(s);
    }
    for (const std::size_t s : known) {
        const bool heard = std::any_of(r.signatures.begin(), r.signatures.end(), [&](const Signature& one) { return one.speaks(s); });
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
        tell_apart(r, known, own, other, result[own]);
    }
    return result;
}

}  // namespace subcrop::infer
