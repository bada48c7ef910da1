#include "infer/contacts/crossing_match.hpp"

#include <algorithm>
#include <cmath>

namespace subcrop::infer {

namespace {

std::vector<std::optional<CrossingMatch>> match_one_to_one(std::span<const FoundCrossing> found,
                                                           std::span<const MappedCrossing> mapped, double reach_m) {
    const std::size_t rows = found.size(), columns = mapped.size();
    const auto gain = [&](std::size_t f, std::size_t m) {
        if (found[f].from != mapped[m].from_unit || found[f].to != mapped[m].to_unit) return 0.0;
        const double at = mapped[m].chainage_m;
        const double off = std::abs(found[f].place.middle - at);
        const bool within = at >= found[f].place.low && at <= found[f].place.high;
        return within || off <= reach_m ? 2 - std::min(off / reach_m, 1.0) : 0.0;
    };
    std::vector<double> best((rows + 1) * (columns + 1), 0.0);
    const auto at = [&](std::size_t f, std::size_t m) -> double& { return best[f * (columns + 1) + m]; };
    for (std::size_t f = 1; f <= rows; ++f) {
        for (std::size_t m = 1; m <= columns; ++m) {
            const double paired = gain(f - 1, m - 1);
            at(f, m) = std::max({at(f - 1, m), at(f, m - 1), paired > 0 ? at(f - 1, m - 1) + paired : 0.0});
        }
    }
    std::vector<std::optional<CrossingMatch>> partner(rows);
    for (std::size_t f = rows, m = columns; f > 0 && m > 0;) {
        if (at(f, m) == at(f - 1, m)) {
            --f;
        } else if (at(f, m) == at(f, m - 1)) {
            --m;
        } else {
            --m;
            partner[--f] = CrossingMatch{m, m};
        }
    }
    return partner;
}

}  // namespace

std::vector<std::optional<CrossingMatch>> match_crossings(std::span<const FoundCrossing> found,
                                                          std::span<const MappedCrossing> mapped,
                                                          std::span<const double> stops_m, double reach_m) {
    std::vector<std::optional<CrossingMatch>> partner = match_one_to_one(found, mapped, reach_m);
    const auto stops_before = [&](std::size_t m) {
        return std::upper_bound(stops_m.begin(), stops_m.end(), mapped[m].chainage_m) - stops_m.begin();
    };

    for (std::size_t f = 0; f < found.size(); ++f) {
        if (partner[f]) continue;
        // To keep the order, only crossings between the partners of the previous and the next one qualify.
        std::size_t begin = 0, end = mapped.size();
        for (std::size_t other = 0; other < found.size(); ++other) {
            if (!partner[other]) continue;
            if (other < f)
                begin = std::max(begin, partner[other]->last + 1);
            else
                end = std::min(end, partner[other]->first);
        }
        double nearest = reach_m;
        for (std::size_t first = begin; first < end; ++first) {
            if (mapped[first].from_unit != found[f].from) continue;
            for (std::size_t last = first + 1; last < end && stops_before(last) == stops_before(first); ++last) {
                const double off =
                    std::abs(found[f].place.middle - 0.5 * (mapped[first].chainage_m + mapped[last].chainage_m));
                if (mapped[last].to_unit != found[f].to || off > nearest) continue;
                nearest = off;
                partner[f] = CrossingMatch{first, last};
            }
        }
    }
    return partner;
}

}  // namespace subcrop::infer
