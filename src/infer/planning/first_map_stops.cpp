#include <Eigen/Dense>
#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <map>
#include <utility>

#include "infer/planning/allowed_places.hpp"
#include "infer/planning/walk.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/infer/next_stops.hpp"

namespace subcrop::infer {

namespace {

constexpr std::size_t max_neighbours = 24;
constexpr double max_candidates = 1500;
/// Number of squares within the range computed for each candidate; more would give the same result.
constexpr double max_squares = 800;
/// Two visits closer than this share of the range would show much the same.
constexpr double apart_in_ranges = 0.1;
constexpr double min_gain_m2 = 50;

class FirstMapPlanner {
public:
    FirstMapPlanner(const model::Survey& survey, const geo::UnitMap& map, const FirstMap& first,
                    const NextStopOptions& options)
        : survey_(survey), first_(first), options_(options), heard_(first.heard), noise_(first.noise) {
        std::vector<double> sorted = first.noise;
        std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
        visit_noise_ = sorted[sorted.size() / 2];
        const geo::UnitGrid& grid = first.grid;
        const double in_range = first.model.range_m / grid.cell_m;
        stride_ = std::max<std::size_t>(
            1, static_cast<std::size_t>(std::ceil(std::sqrt(3.2 * in_range * in_range / max_squares))));
        const std::size_t step = std::max<std::size_t>(
            1, static_cast<std::size_t>(std::ceil(std::sqrt(static_cast<double>(grid.units.size()) / max_candidates))));
        const AllowedPlaces allowed(survey, map);
        for (std::size_t r = step / 2; r < grid.rows; r += step) {
            for (std::size_t c = step / 2; c < grid.columns; c += step) {
                const std::size_t cell = r * grid.columns + c;
                if (grid.units[cell] != model::no_unit && allowed(grid.centre(cell)))
                    candidates_.push_back({cell, 0, true});
            }
        }
    }

    std::vector<NextStop> plan(unsigned threads) {
        parallel_blocks(candidates_.size(), 8, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t k = begin; k < end; ++k) candidates_[k].gain_m2 = gain_m2(candidates_[k].cell);
        });
        std::vector<Candidate> chosen;
        std::map<std::pair<model::UnitIndex, model::UnitIndex>, double> worth;
        const double apart = std::max(2 * first_.grid.cell_m, apart_in_ranges * first_.model.range_m);
        while (chosen.size() < options_.count) {
            Candidate* best = nullptr;
            double most = 0;
            // A visit lowers the gain of others, so an old gain is an upper bound. It is computed again only if it
            // might be the best.
            while (true) {
                best = nullptr;
                most = 0;
                for (Candidate& candidate : candidates_) {
                    if (candidate.gain_m2 < min_gain_m2) continue;
                    const auto found = worth.find(pair_of(candidate.cell));
                    const double counted = candidate.gain_m2 * (found != worth.end() ? found->second : 1);
                    if (counted <= most) continue;
                    most = counted;
                    best = &candidate;
                }
                if (best == nullptr || best->fresh) break;
                best->gain_m2 = gain_m2(best->cell);
                best->fresh = true;
            }
            if (best == nullptr) break;
            chosen.push_back(*best);
            worth.try_emplace(pair_of(best->cell), 1).first->second *= options_.again;
            const Point place = first_.grid.centre(best->cell);
            heard_.push_back(place);
            noise_.push_back(visit_noise_);
            std::erase_if(candidates_, [&](const Candidate& other) {
                return distance(first_.grid.centre(other.cell), place) < apart;
            });
            for (Candidate& candidate : candidates_) candidate.fresh = false;
        }
        // Sorted by gain alone, the best first, whatever units were chosen before.
        std::vector<NextStop> stops;
        heard_ = first_.heard;
        noise_ = first_.noise;
        while (!chosen.empty()) {
            for (Candidate& candidate : chosen) candidate.gain_m2 = gain_m2(candidate.cell);
            const auto best =
                std::max_element(chosen.begin(), chosen.end(),
                                 [](const Candidate& a, const Candidate& b) { return a.gain_m2 < b.gain_m2; });
            stops.push_back(describe(*best));
            heard_.push_back(stops.back().place);
            noise_.push_back(visit_noise_);
            chosen.erase(best);
        }
        std::stable_sort(stops.begin(), stops.end(),
                         [](const NextStop& a, const NextStop& b) { return a.gain_ha > b.gain_ha; });
        number_walk(stops);
        return stops;
    }

private:
    struct Candidate {
        std::size_t cell;
        double gain_m2;
        bool fresh;
    };

    float p(std::size_t cell, std::size_t unit) const { return first_.probability[cell * first_.units + unit]; }

    /// The two most probable units of a cell, in order.
    std::pair<std::size_t, std::size_t> two_likeliest(std::size_t cell) const {
        std::size_t a = 0, b = 1;
        if (p(cell, 1) > p(cell, 0)) std::swap(a, b);
        for (std::size_t u = 2; u < first_.units; ++u) {
            if (p(cell, u) > p(cell, a)) {
                b = a;
                a = u;
            } else if (p(cell, u) > p(cell, b)) {
                b = u;
            }
        }
        return {a, b};
    }
    std::pair<model::UnitIndex, model::UnitIndex> pair_of(std::size_t cell) const {
        const auto [a, b] = two_likeliest(cell);
        return std::minmax(static_cast<model::UnitIndex>(a), static_cast<model::UnitIndex>(b));
    }

    /// Covariance of the indicators at two places, summed over the units.
    double covariance(double d) const { return first_.model.nugget + first_.model.sill - first_.model.at(d); }

    double gain_m2(std::size_t cell) const {
        const geo::UnitGrid& grid = first_.grid;
        const Point place = grid.centre(cell);
        std::vector<std::pair<double, std::uint32_t>> near;
        near.reserve(heard_.size());
        for (std::uint32_t i = 0; i < heard_.size(); ++i) near.emplace_back(distance(place, heard_[i]), i);
        const std::size_t count = std::min(max_neighbours, near.size());
        std::partial_sort(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(count), near.end());
        Eigen::MatrixXd among(count, count);
        Eigen::VectorXd towards(count);
        for (std::size_t i = 0; i < count; ++i) {
            const auto row = static_cast<Eigen::Index>(i);
            towards(row) = covariance(near[i].first);
            // A small nugget for each stop separates stops in one place.
            among(row, row) = covariance(0) * (1 + 1e-6) + noise_[near[i].second];
            for (std::size_t j = 0; j < i; ++j) {
                const double d = distance(heard_[near[i].second], heard_[near[j].second]);
                among(row, static_cast<Eigen::Index>(j)) = among(static_cast<Eigen::Index>(j), row) =
                    covariance(std::max(d, 1e-9));
            }
        }
        const Eigen::VectorXd weights = among.ldlt().solve(towards);
        const double left = covariance(0) - towards.dot(weights);  // the kriging variance here
        if (left <= 1e-9 * covariance(0)) return 0;
        const double step = 1 / std::sqrt(left * (left + visit_noise_));
        double gain = 0;
        std::vector<double> seen(first_.units);
        for (std::size_t u = 0; u < first_.units; ++u) seen[u] = static_cast<double>(p(cell, u));
        const auto reach = static_cast<std::ptrdiff_t>(first_.model.range_m / grid.cell_m),
                   stride = static_cast<std::ptrdiff_t>(stride_);
        const auto row = static_cast<std::ptrdiff_t>(cell / grid.columns),
                   column = static_cast<std::ptrdiff_t>(cell % grid.columns);
        for (std::ptrdiff_t r = row - reach / stride * stride; r <= row + reach; r += stride) {
            for (std::ptrdiff_t c = column - reach / stride * stride; c <= column + reach; c += stride) {
                if (r < 0 || c < 0 || r >= static_cast<std::ptrdiff_t>(grid.rows) ||
                    c >= static_cast<std::ptrdiff_t>(grid.columns))
                    continue;
                const auto other = static_cast<std::size_t>(r) * grid.columns + static_cast<std::size_t>(c);
                if (grid.units[other] == model::no_unit) continue;
                const Point there = grid.centre(other);
                double shared = covariance(distance(place, there));
                for (std::size_t i = 0; i < count; ++i)
                    shared -=
                        weights(static_cast<Eigen::Index>(i)) * covariance(distance(there, heard_[near[i].second]));
                if (shared > 0) gain += fall(other, seen, std::min(1.0, shared * step));
            }
        }
        return gain * grid.cell_m * grid.cell_m * static_cast<double>(stride_ * stride_);
    }

    /// Expected fall of the probability that a cell shows the wrong unit, over the units that may be observed at the
    /// visit. Observing unit u changes the cell's probabilities by `share` of the change at the visit.
    double fall(std::size_t cell, const std::vector<double>& seen, double share) const {
        double now = 0, then = 0;
        for (std::size_t v = 0; v < first_.units; ++v) now = std::max(now, static_cast<double>(p(cell, v)));
        for (std::size_t u = 0; u < first_.units; ++u) {
            double most = 0;
            for (std::size_t v = 0; v < first_.units; ++v)
                most = std::max(most, static_cast<double>(p(cell, v)) + share * ((u == v ? 1 : 0) - seen[v]));
            then += seen[u] * std::min(1.0, most);
        }
        return std::max(0.0, then - now);
    }

    NextStop describe(const Candidate& best) const {
        NextStop stop;
        stop.place = first_.grid.centre(best.cell);
        stop.gain_ha = best.gain_m2 / 1e4;
        const auto [a, b] = two_likeliest(best.cell);
        stop.unit_a = static_cast<model::UnitIndex>(a);
        stop.unit_b = static_cast<model::UnitIndex>(b);
        stop.purpose = "Here the first map has " + named(a) + " (probability " + percent(p(best.cell, a)) + ") or " +
                       named(b) + " (" + percent(p(best.cell, b)) +
                       "). See which of the two lies below, in the rock itself where it shows.";
        return stop;
    }
    std::string named(std::size_t unit) const {
        const model::LegendUnit& entry = survey_.units[unit];
        return entry.name.empty() || entry.name == entry.code ? entry.code : entry.code + " (" + entry.name + ')';
    }
    static std::string percent(float share) { return std::to_string(std::lround(100 * share)) + " %"; }

    const model::Survey& survey_;
    const FirstMap& first_;
    NextStopOptions options_;
    std::vector<Point> heard_;  ///< also the visits planned so far
    std::vector<double> noise_;
    double visit_noise_ = 0;
    std::size_t stride_ = 1;
    std::vector<Candidate> candidates_;
};

}  // namespace

std::vector<NextStop> suggest_first_map_stops(const model::Survey& survey, const geo::UnitMap& map,
                                              const FirstMap& first, const NextStopOptions& options, unsigned threads) {
    if (options.count == 0 || first.units < 2 || !first.shows_range || first.heard.empty()) return {};
    return FirstMapPlanner(survey, map, first, options).plan(threads);
}

}  // namespace subcrop::infer
