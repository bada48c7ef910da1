#include "subcrop/infer/patch_scan.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <tuple>
#include <utility>

#include "random_draw.hpp"
#include "reckoning.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

constexpr std::size_t inflation_stops = 8;         // in the circles in which soils' likeness to their neighbours is measured
constexpr std::size_t inflation_permutations = 8;
constexpr std::size_t work_for_permutations = 2'000'000;
constexpr std::size_t fewest_permutations = 19;
constexpr double largest_radius = 1.0 / 6;         // of the stops' extent: what is larger is no patch

constexpr std::size_t nearest_followed = 8;        // neighbours to which a sure bunch goes on from each of its stops
constexpr double least_of_a_member = 0.8;           // probability of a stop that a sure bunch goes on to

/// What stands at each stop of a unit, in place of its own evidence: the row of another stop, or rock that was dealt.
using Deal = std::vector<std::int32_t>;
constexpr std::int32_t rock_as_drafted = -1;  // and -2 - v: rock of unit v

/// The stops of one drafted unit, each with its nearest of the same unit.
struct Neighbourhoods {
    std::vector<std::uint32_t> stops;       ///< of the survey
    std::vector<std::uint32_t> neighbours;  ///< stops x most, indices into `stops`, itself first, then the nearest
    std::vector<std::uint8_t> counts;       ///< how many there are within the largest radius
    std::size_t most = 0;
};

void find_neighbours(const PatchEvidence& evidence, double radius, std::size_t most, unsigned threads, Neighbourhoods& n) {
    const std::size_t count = n.stops.size();
    n.most = std::min(most, count);
    n.neighbours.assign(count * n.most, 0);
    n.counts.assign(count, 0);
    Box box;
    for (const std::uint32_t s : n.stops) box.add(evidence.places[s]);
    // About as many stops a cell as a circle holds a third of, so that two rings of cells mostly suffice.
    const double wanted = std::max(1.0, 3 * static_cast<double>(count) / static_cast<double>(n.most));
    const double side = std::max({std::sqrt(std::max(box.width(), 1.0) * std::max(box.height(), 1.0) / wanted),
                                  std::max(box.width(), box.height()) / 4096, 1e-3});
    const auto columns = 1 + static_cast<std::int64_t>(box.width() / side), rows = 1 + static_cast<std::int64_t>(box.height() / side);
    auto column = [&](double x) { return std::min(columns - 1, static_cast<std::int64_t>((x - box.min_x) / side)); };
    auto row = [&](double y) { return std::min(rows - 1, static_cast<std::int64_t>((y - box.min_y) / side)); };
    std::vector<std::uint32_t> starts(static_cast<std::size_t>(columns * rows) + 1, 0), items(count);
    auto cell = [&](Point p) { return static_cast<std::size_t>(row(p.y) * columns + column(p.x)); };
    for (const std::uint32_t s : n.stops) ++starts[cell(evidence.places[s]) + 1];
    std::partial_sum(starts.begin(), starts.end(), starts.begin());
    std::vector<std::uint32_t> next(starts.begin(), starts.end() - 1);
    for (std::uint32_t i = 0; i < count; ++i) items[next[cell(evidence.places[n.stops[i]])]++] = i;

    parallel_blocks(count, 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<std::pair<double, std::uint32_t>> found;  // squared distance, which stop
        for (std::size_t i = begin; i < end; ++i) {
            const Point here = evidence.places[n.stops[i]];
            found.clear();
            const std::int64_t c = column(here.x), r = row(here.y);
            for (std::int64_t ring = 0;; ++ring) {
                const std::int64_t west = c - ring, east = c + ring, south = r - ring, north = r + ring;
                for (std::int64_t y = std::max<std::int64_t>(0, south); y <= std::min(rows - 1, north); ++y) {
                    const bool whole_row = y == south || y == north;
                    for (std::int64_t x = std::max<std::int64_t>(0, west); x <= std::min(columns - 1, east); ++x) {
                        if (!whole_row && x != west && x != east) continue;
                        const auto number = static_cast<std::size_t>(y * columns + x);
                        for (std::uint32_t k = starts[number]; k < starts[number + 1]; ++k) {
                            const Point there = evidence.places[n.stops[items[k]]];
                            const double squared = (there.x - here.x) * (there.x - here.x) + (there.y - here.y) * (there.y - here.y);
                            if (squared <= radius * radius) found.emplace_back(items[k] == i ? -1.0 : squared, items[k]);
                        }
                    }
                }
                // All within `ring` cell sides have been seen.
                const double seen = static_cast<double>(ring) * side;
                const auto sure = static_cast<std::size_t>(
                    std::count_if(found.begin(), found.end(), [&](const auto& f) { return f.first <= seen * seen; }));
                const bool whole_map = west <= 0 && south <= 0 && east >= columns - 1 && north >= rows - 1;
                if (sure >= n.most || seen > radius || whole_map) break;
            }
            const std::size_t kept = std::min(n.most, found.size());
            std::partial_sort(found.begin(), found.begin() + static_cast<std::ptrdiff_t>(kept), found.end());
            for (std::size_t k = 0; k < kept; ++k) n.neighbours[i * n.most + k] = found[k].second;
            n.counts[i] = static_cast<std::uint8_t>(kept);
        }
    });
}

struct Best {
    double statistic = -std::numeric_limits<double>::infinity();
    std::size_t size = 0;
    std::size_t unit = 0;
};

/// ln chance_of_name, named x truly.
std::vector<double> log_chances_of_names(const std::vector<double>& ground, double certainty) {
    std::vector<double> logs;
    logs.reserve(ground.size() * ground.size());
    for (std::size_t named = 0; named < ground.size(); ++named)
        for (std::size_t truly = 0; truly < ground.size(); ++truly) logs.push_back(std::log(chance_of_name(named, truly, ground, certainty)));
    return logs;
}

/// One drafted unit's scan. `log_names`: see log_chances_of_names; of all scans together, since a long legend makes it large.
class UnitScan {
public:
    UnitScan(const PatchEvidence& evidence, const PatchScanOptions& options, const std::vector<double>& log_names, model::UnitIndex unit,
             Neighbourhoods n)
        : evidence_(evidence), options_(options), log_names_(log_names), unit_(static_cast<std::size_t>(unit)), n_(std::move(n)),
          observed_(n_.stops.begin(), n_.stops.end()), mean_(evidence.units, 0.0), likeness_(evidence.units, 0.0) {
        for (std::size_t v = 0; v < evidence.units; ++v) others_ += v == unit_ ? 0 : evidence.ground[v];
        for (std::size_t k = 0; k <= n_.most; ++k)
            size_factor_.push_back(k == 0 ? 0 : std::pow(static_cast<double>(k), -options.size_exponent));
        measure_likeness();
    }

    const Neighbourhoods& neighbourhoods() const { return n_; }

    /// The best circle about stop `i`; `taken` stops end the circle before them.
    Best best_about(std::size_t i, const Deal& deal, bool observed,
                    const std::vector<std::uint8_t>* taken = nullptr) const {
        const std::size_t units = evidence_.units;
        std::array<double, 64> few_soil, few_rock;
        std::vector<double> many;
        double *soil = few_soil.data(), *rock = few_rock.data();
        if (units > few_soil.size()) {
            many.resize(2 * units);
            soil = many.data();
            rock = many.data() + units;
        }
        std::fill(soil, soil + units, 0.0);
        std::fill(rock, rock + units, 0.0);
        Best best;
        std::size_t soils = 0;
        for (std::size_t k = 0; k < n_.counts[i]; ++k) {
            const std::uint32_t place = n_.neighbours[i * n_.most + k];
            if (taken && (*taken)[place]) break;
            const bool of_rock = evidence_.rock_seen[n_.stops[place]] != 0;
            soils += !of_rock;
            if (deal[place] >= 0) {
                const float* row = &evidence_.log_ratio[static_cast<std::size_t>(deal[place]) * units];
                double* into = of_rock ? rock : soil;
                for (std::size_t v = 0; v < units; ++v) into[v] += static_cast<double>(row[v]);
            } else if (deal[place] == rock_as_drafted) {
                for (std::size_t v = 0; v < units; ++v) rock[v] += rock_odds(unit_, v);
            } else {
                const auto named = static_cast<std::size_t>(-2 - deal[place]);
                for (std::size_t v = 0; v < units; ++v) rock[v] += rock_odds(named, v);
            }
            if (k + 1 < options_.least_stops) continue;
            for (std::size_t v = 0; v < units; ++v) {
                if (v == unit_) continue;
                double sum = soil[v];
                if (observed && soils > 1 && likeness_[v] > 0) {
                    const double usual = static_cast<double>(soils) * mean_[v];
                    sum = usual + (sum - usual) / std::sqrt(1 + (static_cast<double>(soils) - 1) * likeness_[v]);
                }
                const double statistic = (sum + rock[v]) * size_factor_[k + 1];
                if (statistic > best.statistic) best = {statistic, k + 1, v};
            }
        }
        return best;
    }

    const Deal& observed() const { return observed_; }

    /// The greatest statistic where the draft is wrong in single places only.
    double greatest_by_chance(std::size_t number) const {
        const Deal deal = dealt(number, options_.seed);
        double result = -std::numeric_limits<double>::infinity();
        for (std::size_t i = 0; i < n_.stops.size(); ++i) result = std::max(result, best_about(i, deal, false).statistic);
        return result;
    }

    /// Adds this unit's stops' probabilities. Circles that hold a stop speak for a patch there, those beside it for one there.
    void average_circles(std::vector<float>& probability) const {
        const std::size_t units = evidence_.units, count = n_.stops.size(), most = n_.most;
        std::vector<double> log_share(units), holding(count * units, 0.0), beside(count, 0.0);
        std::vector<std::uint32_t> circles_holding(count, 0), circles_beside(count, 0);
        for (std::size_t v = 0; v < units; ++v) log_share[v] = std::log(evidence_.ground[v] / others_);
        std::vector<double> sum(units), weight(most * units);
        constexpr double most_exponent = 600;  // beyond it nothing is in doubt, and e^x overflows
        for (std::size_t i = 0; i < count; ++i) {
            std::fill(sum.begin(), sum.end(), 0.0);
            const std::size_t size = n_.counts[i];
            for (std::size_t k = 0; k < size; ++k) {
                const float* row = &evidence_.log_ratio[n_.stops[n_.neighbours[i * most + k]] * units];
                for (std::size_t v = 0; v < units; ++v) {
                    sum[v] += static_cast<double>(row[v]);
                    weight[k * units + v] = v == unit_ ? 0 : std::exp(std::min(sum[v] + log_share[v], most_exponent));
                }
            }
            double before = 0;
            for (std::size_t k = 0; k < size; ++k) {
                const std::size_t stop = n_.neighbours[i * most + k];
                beside[stop] += before;
                circles_beside[stop] += static_cast<std::uint32_t>(k);
                circles_holding[stop] += static_cast<std::uint32_t>(size - k);
                for (std::size_t v = 0; v < units; ++v) before += weight[k * units + v];
            }
            std::fill(sum.begin(), sum.end(), 0.0);
            for (std::size_t k = size; k-- > 0;) {
                const std::size_t stop = n_.neighbours[i * most + k];
                for (std::size_t v = 0; v < units; ++v) holding[stop * units + v] += (sum[v] += weight[k * units + v]);
            }
        }
        for (std::size_t i = 0; i < count; ++i) {
            if (circles_holding[i] == 0) continue;
            const double each = options_.share / circles_holding[i];
            double total = std::max(0.2, 1 - options_.share - each * circles_beside[i]) + each * beside[i];
            for (std::size_t v = 0; v < units; ++v) total += each * holding[i * units + v];
            for (std::size_t v = 0; v < units; ++v)
                probability[n_.stops[i] * units + v] = static_cast<float>(each * holding[i * units + v] / total);
        }
    }

private:
    /// ln of what rock so named says for a unit over the drafted one.
    double rock_odds(std::size_t named, std::size_t truly) const {
        const double* log_chance = &log_names_[named * evidence_.units];
        return log_chance[truly] - log_chance[unit_];
    }

    /// Soils change places among the stops without rock; rock is dealt anew, contrary to the draft in single places.
    Deal dealt(std::size_t number, std::uint64_t seed) const {
        RandomDraw draw(seed * 0x100000001b3ULL + unit_ * 1'000'003ULL + number);
        Deal deal(n_.stops.size(), rock_as_drafted);
        std::vector<std::uint32_t> soils;
        for (std::uint32_t i = 0; i < n_.stops.size(); ++i) {
            if (!evidence_.rock_seen[n_.stops[i]]) {
                soils.push_back(i);
            } else if (draw.share() < options_.single_errors) {
                double left = draw.share() * others_;
                for (std::size_t v = 0; v < evidence_.units; ++v) {
                    if (v == unit_) continue;
                    deal[i] = -2 - static_cast<std::int32_t>(v);
                    if ((left -= evidence_.ground[v]) < 0) break;
                }
            }
        }
        std::vector<std::uint32_t> order = soils;
        for (std::size_t i = order.size(); i > 1; --i) std::swap(order[i - 1], order[draw.below(i)]);
        for (std::size_t i = 0; i < soils.size(); ++i) deal[soils[i]] = static_cast<std::int32_t>(n_.stops[order[i]]);
        return deal;
    }

    /// How much more the sums of neighbouring soils spread than those of soils dealt at random: (inflation - 1) / (n - 1).
    void measure_likeness() {
        const std::size_t units = evidence_.units;
        std::size_t soils = 0;
        for (const std::uint32_t s : n_.stops) {
            if (evidence_.rock_seen[s]) continue;
            ++soils;
            for (std::size_t v = 0; v < units; ++v) mean_[v] += static_cast<double>(evidence_.log_ratio[s * units + v]);
        }
        if (soils < 2 * inflation_stops || n_.most < inflation_stops) return;
        for (double& m : mean_) m /= static_cast<double>(soils);
        const std::vector<std::vector<double>> observed = standard_sums(observed_);
        std::vector<std::vector<double>> by_chance(units);
        for (std::size_t number = 0; number < inflation_permutations; ++number) {
            const auto sums = standard_sums(dealt(number, options_.seed ^ 0x5deece66dULL));
            for (std::size_t v = 0; v < units; ++v) by_chance[v].insert(by_chance[v].end(), sums[v].begin(), sums[v].end());
        }
        for (std::size_t v = 0; v < units; ++v) {
            if (v == unit_ || observed[v].size() < inflation_stops) continue;
            const double spread = middle_half(observed[v]), expected = middle_half(by_chance[v]);
            if (expected <= 0) continue;
            const double inflation = spread * spread / (expected * expected);
            likeness_[v] = std::clamp((inflation - 1) / (inflation_stops - 1.0), 0.0, 1.0);
        }
    }

    std::vector<std::vector<double>> standard_sums(const Deal& deal) const {
        const std::size_t units = evidence_.units;
        std::vector<std::vector<double>> sums(units);
        std::vector<double> sum(units);
        for (std::size_t i = 0; i < n_.stops.size(); ++i) {
            if (n_.counts[i] < inflation_stops) continue;
            std::fill(sum.begin(), sum.end(), 0.0);
            double soils = 0;
            for (std::size_t k = 0; k < inflation_stops; ++k) {
                const std::uint32_t place = n_.neighbours[i * n_.most + k];
                if (evidence_.rock_seen[n_.stops[place]]) continue;
                soils += 1;
                const float* row = &evidence_.log_ratio[static_cast<std::size_t>(deal[place]) * units];
                for (std::size_t v = 0; v < units; ++v) sum[v] += static_cast<double>(row[v]) - mean_[v];
            }
            if (soils < inflation_stops / 2) continue;
            for (std::size_t v = 0; v < units; ++v) sums[v].push_back(sum[v] / std::sqrt(soils));
        }
        return sums;
    }

    static double middle_half(std::vector<double> values) {
        if (values.empty()) return 0;
        const auto low = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 4), high = values.begin() + static_cast<std::ptrdiff_t>(values.size() * 3 / 4);
        std::nth_element(values.begin(), high, values.end());
        const double upper = *high;
        std::nth_element(values.begin(), low, high);
        return upper - *low;
    }

    const PatchEvidence& evidence_;
    const PatchScanOptions& options_;
    const std::vector<double>& log_names_;
    std::size_t unit_;
    Neighbourhoods n_;
    Deal observed_;
    double others_ = 0;     ///< ground of all other units
    std::vector<double> size_factor_;
    std::vector<double> mean_;      ///< of the soils' ln ratio, each unit
    std::vector<double> likeness_;  ///< of neighbouring soils, each unit, 0 to 1
};

model::UnitIndex likeliest_unit(const PatchScan& scan, std::size_t stop) {
    const auto row = scan.probability.begin() + static_cast<std::ptrdiff_t>(stop * scan.units);
    return static_cast<model::UnitIndex>(std::max_element(row, row + static_cast<std::ptrdiff_t>(scan.units)) - row);
}

/// Neighbours that each probably stand on ground drafted wrong as a whole, and truly of one unit, most of them by what was noted there; in the order of
/// their first stop.
std::vector<std::vector<std::size_t>> sure_bunches(const Neighbourhoods& n, const PatchEvidence& evidence, const PatchScan& scan, const PatchScanOptions& options) {
    std::vector<std::vector<std::size_t>> bunches;
    std::vector<std::uint8_t> seen(n.stops.size(), 0);
    for (std::size_t first = 0; first < n.stops.size(); ++first) {
        if (seen[first] || scan.p_patch(n.stops[first]) < least_of_a_member) continue;
        const model::UnitIndex like = likeliest_unit(scan, n.stops[first]);
        std::vector<std::size_t> members{first};
        seen[first] = 1;
        double probability = 0;
        std::size_t themselves = 0;
        for (std::size_t next = 0; next < members.size(); ++next) {
            probability += scan.p_patch(n.stops[members[next]]);
            themselves += evidence.log_ratio[n.stops[members[next]] * scan.units + static_cast<std::size_t>(like)] > 0;
            for (std::size_t k = 1; k < std::min<std::size_t>(n.counts[members[next]], 1 + nearest_followed); ++k) {
                const std::size_t member = n.neighbours[members[next] * n.most + k];
                const std::uint32_t stop = n.stops[member];
                if (seen[member] || scan.p_patch(stop) < least_of_a_member || likeliest_unit(scan, stop) != like) continue;
                seen[member] = 1;
                members.push_back(member);
            }
        }
        if (members.size() >= options.least_stops && 2 * themselves > members.size() && probability >= options.sure_probability * static_cast<double>(members.size()))
            bunches.push_back(std::move(members));
    }
    return bunches;
}

/// Its stops from the one nearest their middle outwards, what they make probable, and how far the last one lies from the first.
StopPatch bunch_of(const Neighbourhoods& n, const std::vector<std::size_t>& members, const std::vector<Point>& places, const PatchScan& scan) {
    StopPatch patch;
    Point middle;
    const auto count = static_cast<double>(members.size());
    for (const std::size_t member : members) {
        const std::uint32_t stop = n.stops[member];
        patch.stops.push_back(stop);
        patch.probability += scan.p_patch(stop) / count;
        middle.x += places[stop].x / count;
        middle.y += places[stop].y / count;
    }
    const auto outwards = [&](Point from) {
        std::sort(patch.stops.begin(), patch.stops.end(), [&](std::uint32_t a, std::uint32_t b) {
            return std::pair(distance(places[a], from), a) < std::pair(distance(places[b], from), b);
        });
    };
    outwards(middle);
    outwards(places[patch.stops.front()]);
    patch.radius_m = distance(places[patch.stops.front()], places[patch.stops.back()]);
    return patch;
}

/// P(greatest of a Gumbel distribution with this mean and standard deviation >= value).
double gumbel_tail(double value, double mean, double sd) {
    const double scale = std::max(sd, 1e-9) * std::sqrt(6.0) / std::numbers::pi;
    const double location = mean - std::numbers::egamma * scale;
    return -std::expm1(-std::exp(-(value - location) / scale));
}

}  // namespace

double PatchScan::p_patch(std::size_t stop) const {
    if (empty()) return 0;
    double sum = 0;
    for (std::size_t v = 0; v < units; ++v) sum += static_cast<double>(probability[stop * units + v]);
    return sum;
}

double patch_statistic(std::span<const float> rows, std::size_t units, model::UnitIndex drafted, double size_exponent) {
    assert(units > 1 && rows.size() % units == 0 && !rows.empty());
    const std::size_t count = rows.size() / units;
    double best = -std::numeric_limits<double>::infinity();
    for (std::size_t v = 0; v < units; ++v) {
        if (v == static_cast<std::size_t>(drafted)) continue;
        double sum = 0;
        for (std::size_t i = 0; i < count; ++i) sum += static_cast<double>(rows[i * units + v]);
        best = std::max(best, sum * std::pow(static_cast<double>(count), -size_exponent));
    }
    return best;
}

PatchScan scan_patches(const PatchEvidence& evidence, const PatchScanOptions& options, unsigned threads) {
    const std::size_t stops = evidence.places.size(), units = evidence.units;
    assert(evidence.drafted.size() == stops && evidence.log_ratio.size() == stops * units && evidence.rock_seen.size() == stops);
    assert(options.most_stops <= 255 && options.least_stops > 0);
    PatchScan result;
    result.units = units;
    if (units < 2 || stops == 0) return result;
    result.probability.assign(stops * units, 0.0f);

    Box extent;
    std::vector<Neighbourhoods> of_unit(units);
    for (std::uint32_t s = 0; s < stops; ++s) {
        extent.add(evidence.places[s]);
        if (evidence.drafted[s] != model::no_unit) of_unit[static_cast<std::size_t>(evidence.drafted[s])].stops.push_back(s);
    }
    const double radius = largest_radius * std::max({extent.width(), extent.height(), 1.0});
    const std::size_t permutations =
        std::clamp(work_for_permutations / stops, std::min(fewest_permutations, options.permutations), options.permutations);

    const std::vector<double> log_names = log_chances_of_names(evidence.ground, options.rock_certainty);
    std::vector<UnitScan> scans;
    std::vector<model::UnitIndex> scanned;
    for (std::size_t u = 0; u < units; ++u) {
        if (of_unit[u].stops.empty()) continue;
        // By place, so that the order of the survey's rows decides nothing.
        std::sort(of_unit[u].stops.begin(), of_unit[u].stops.end(), [&](std::uint32_t a, std::uint32_t b) {
            const Point p = evidence.places[a], q = evidence.places[b];
            return std::tie(p.x, p.y, a) < std::tie(q.x, q.y, b);
        });
        find_neighbours(evidence, radius, options.most_stops, threads, of_unit[u]);
        scans.emplace_back(evidence, options, log_names, static_cast<model::UnitIndex>(u), std::move(of_unit[u]));
        scanned.push_back(static_cast<model::UnitIndex>(u));
    }
    parallel_blocks(scans.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) scans[i].average_circles(result.probability);
    });

    // What chance gives: units x permutations.
    std::vector<double> by_chance(scans.size() * permutations);
    parallel_blocks(by_chance.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) by_chance[i] = scans[i / permutations].greatest_by_chance(i % permutations);
    });
    std::size_t tested = 0;
    for (const UnitScan& scan : scans) tested += scan.neighbourhoods().stops.size() > options.least_stops;

    for (std::size_t i = 0; i < scans.size(); ++i) {
        const Neighbourhoods& n = scans[i].neighbourhoods();
        // Dealt among no more stops than a bunch has, the evidence stays what it is.
        if (n.stops.size() <= options.least_stops) continue;
        double mean = 0, square = 0;
        for (std::size_t k = 0; k < permutations; ++k) mean += by_chance[i * permutations + k];
        mean /= static_cast<double>(permutations);
        if (!std::isfinite(mean)) continue;
        for (std::size_t k = 0; k < permutations; ++k) square += std::pow(by_chance[i * permutations + k] - mean, 2);
        const double sd = std::sqrt(square / static_cast<double>(permutations - 1));
        auto significance = [&](double statistic) {
            const double p = gumbel_tail(statistic, mean, sd);
            return -std::expm1(static_cast<double>(tested) * std::log1p(-std::min(p, 1 - 1e-12)));
        };
        std::vector<std::uint8_t> taken(n.stops.size(), 0), newly(n.stops.size(), 1);
        std::vector<Best> best(n.stops.size());
        auto look_again = [&] {  // about stops whose circles reach into what was newly taken: no others have changed
            parallel_blocks(best.size(), 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
                for (std::size_t s = begin; s < end; ++s) {
                    bool touched = newly[s] != 0;
                    for (std::size_t k = 0; k < n.counts[s] && !touched; ++k) touched = newly[n.neighbours[s * n.most + k]] != 0;
                    if (touched) best[s] = taken[s] ? Best{} : scans[i].best_about(s, scans[i].observed(), true, &taken);
                }
            });
            std::fill(newly.begin(), newly.end(), std::uint8_t{0});
        };
        look_again();

        for (const std::vector<std::size_t>& members : sure_bunches(n, evidence, result, options)) {
            StopPatch patch = bunch_of(n, members, evidence.places, result);
            patch.drafted = scanned[i];
            patch.like = likeliest_unit(result, patch.stops.front());
            for (const std::size_t member : members) {
                patch.statistic = std::max(patch.statistic, best[member].statistic);
                taken[member] = newly[member] = 1;
            }
            patch.p = significance(patch.statistic);
            result.patches.push_back(std::move(patch));
        }
        look_again();
        for (std::size_t round = 0; round < n.stops.size(); ++round) {
            const auto greatest = std::max_element(best.begin(), best.end(),
                                                   [](const Best& a, const Best& b) { return a.statistic < b.statistic; });
            if (!(greatest->statistic > 0)) break;
            const double p = significance(greatest->statistic);
            if (p > options.significance) break;
            const auto centre = static_cast<std::size_t>(greatest - best.begin());
            std::vector<std::size_t> members;
            for (std::size_t k = 0; k < greatest->size; ++k) members.push_back(n.neighbours[centre * n.most + k]);
            StopPatch patch = bunch_of(n, members, evidence.places, result);
            patch.drafted = scanned[i];
            patch.like = static_cast<model::UnitIndex>(greatest->unit);
            patch.statistic = greatest->statistic;
            patch.p = p;
            for (const std::size_t member : members) taken[member] = newly[member] = 1;
            if (patch.probability >= options.least_probability) result.patches.push_back(std::move(patch));
            look_again();
        }
    }
    std::stable_sort(result.patches.begin(), result.patches.end(), [](const StopPatch& a, const StopPatch& b) {
        return std::pair(a.probability, a.statistic) > std::pair(b.probability, b.statistic);
    });
    return result;
}

}  // namespace subcrop::infer
