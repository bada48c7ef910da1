#include "infer/answer/verdict.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numeric>
#include <utility>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// Soil is tested as unlike its unit only below this share of the units' own stops.
constexpr double unlike_share = 0.01;
/// Own stops needed for this share to be meaningful.
constexpr std::size_t unlike_needs = 100;
constexpr double agree_probability = 0.8;
/// If soil supports another unit by more than this (log10 odds), the verdict is not 'agrees', whatever the draft adds.
constexpr double contrary_log10_odds = 1.0;

/// Mean and standard deviation of a channel's log density at a unit's own stops.
struct OwnDensity {
    double weight = 0, mean = 0, square = 0;
    void add(double x, double w) {
        weight += w;
        mean += w * x;
        square += w * x * x;
    }
    void finish() {
        if (weight <= 0) return;
        mean /= weight;
        square = std::max(square / weight - mean * mean, 0.04);
    }
    double variance() const { return square; }
};

/// How far the densities of a stop are from the usual ones at a unit's own stops, in standard deviations.
double standing(const Fit::Reckoning& r, const std::vector<OwnDensity>& own, std::size_t stop, std::size_t unit) {
    double sum = 0, variance = 0;
    for (std::size_t c = 0; c < r.channels.size(); ++c) {
        const OwnDensity& usual = own[c * r.units() + unit];
        if (!r.signatures[c].speaks(stop) || r.weights[c] <= 0 || usual.weight < 3) continue;
        const double density = r.signatures[c].log_density(stop, static_cast<model::UnitIndex>(unit));
        sum += r.weights[c] * (density - usual.mean);
        variance += r.weights[c] * r.weights[c] * usual.variance();
    }
    return variance > 0 ? sum / std::sqrt(variance) : 0;
}

/// Counts of sorted numbers. A table of the beginnings of equal steps shortens each search. That saves 0.2 s on a
/// million stops.
class SortedNumbers {
public:
    explicit SortedNumbers(std::vector<double> numbers) : numbers_(std::move(numbers)) {
        std::sort(numbers_.begin(), numbers_.end());
        if (numbers_.empty() || !(numbers_.back() > numbers_.front())) return;
        const std::size_t steps = numbers_.size() / 4 + 1;
        per_step_ = static_cast<double>(steps) / (numbers_.back() - numbers_.front());
        begins_.assign(steps + 2, static_cast<std::uint32_t>(numbers_.size()));
        for (std::size_t i = numbers_.size(); i-- > 0;) begins_[step(numbers_[i])] = static_cast<std::uint32_t>(i);
        for (std::size_t k = begins_.size() - 1; k-- > 0;) begins_[k] = std::min(begins_[k], begins_[k + 1]);
    }
    std::size_t size() const { return numbers_.size(); }
    double operator[](std::size_t i) const { return numbers_[i]; }
    /// How many are z or less.
    std::size_t up_to(double z) const {
        auto first = numbers_.begin(), last = numbers_.end();
        if (!begins_.empty()) {  // the step rises with the number, so earlier steps have smaller numbers
            const std::size_t own = step(z);
            last = first + begins_[own + 1];
            first += begins_[own];
        }
        return static_cast<std::size_t>(std::upper_bound(first, last, z) - numbers_.begin());
    }

private:
    std::size_t step(double z) const {
        const double at = (z - numbers_.front()) * per_step_, most = static_cast<double>(begins_.size() - 2);
        return static_cast<std::size_t>(std::clamp(at, 0.0, most));
    }
    std::vector<double> numbers_;
    double per_step_ = 0;
    std::vector<std::uint32_t> begins_;  ///< the first number of each step or a later one
};

}  // namespace

std::vector<std::uint8_t> judge_typicality(const Fit::Reckoning& r, const std::vector<float>& responsibility,
                                           std::vector<StopFit>& stops, unsigned threads) {
    const std::size_t units = r.units();
    struct Own {
        std::uint32_t stop;
        model::UnitIndex unit;
        float weight;
    };
    std::vector<Own> teachers;  // few of all pairs, because every channel loops over them
    teachers.reserve(static_cast<std::size_t>(
        std::count_if(responsibility.begin(), responsibility.end(), [](float share) { return share > 0.01f; })));
    for (std::size_t i = 0; i < responsibility.size(); ++i) {
        if (responsibility[i] > 0.01f)
            teachers.push_back(
                {static_cast<std::uint32_t>(i / units), static_cast<model::UnitIndex>(i % units), responsibility[i]});
    }
    std::vector<OwnDensity> own(r.channels.size() * units);
    parallel_blocks(r.channels.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t c = begin; c < end; ++c) {
            for (const auto& [stop, unit, weight] : teachers) {
                if (!r.signatures[c].speaks(stop)) continue;
                own[c * units + static_cast<std::size_t>(unit)].add(r.signatures[c].log_density(stop, unit),
                                                                    static_cast<double>(weight));
            }
        }
    });
    for (OwnDensity& density : own) density.finish();

    // The scale: the rank of each teaching stop in its own unit.
    struct Standing {
        double z = 0;
        model::UnitIndex unit = model::no_unit;  ///< of the stop; no_unit: the stop teaches none
    };
    std::vector<Standing> standings(stops.size());
    parallel_blocks(stops.size(), 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t s = begin; s < end; ++s) {
            const float* row = &responsibility[s * units];
            const auto unit = static_cast<std::size_t>(std::max_element(row, row + units) - row);
            if (row[unit] > 0.5f && r.has_evidence(s))
                standings[s] = {standing(r, own, s, unit), static_cast<model::UnitIndex>(unit)};
        }
    });
    std::vector<double> all;
    for (const Standing& of_stop : standings) {
        if (of_stop.unit != model::no_unit) all.push_back(of_stop.z);
    }
    const SortedNumbers yardstick(std::move(all));
    auto share_below = [&](double z) {
        return (static_cast<double>(yardstick.up_to(z)) + 1) / (static_cast<double>(yardstick.size()) + 1);
    };

    // Some stop is always the most unusual. 'Unlike every unit' must be well beyond the most unusual hundredth.
    const double middle = yardstick.size() == 0 ? 0 : yardstick[yardstick.size() / 2];
    const double oddest = yardstick.size() == 0 ? 0 : yardstick[yardstick.size() / 100];
    const double beyond = oddest - 0.5 * (middle - oddest);

    std::vector<std::uint8_t> unlike_any(stops.size(), 0);
    parallel_blocks(stops.size(), 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t s = begin; s < end; ++s) {
            if (stops[s].fitted_unit == model::no_unit || !r.has_evidence(s)) continue;
            const Standing& known = standings[s];
            stops[s].typicality =
                share_below(known.unit == stops[s].fitted_unit
                                ? known.z
                                : standing(r, own, s, static_cast<std::size_t>(stops[s].fitted_unit)));
            if (yardstick.size() < unlike_needs || stops[s].typicality >= unlike_share) continue;
            bool unlike = true;
            for (std::size_t u = 0; u < units && unlike; ++u) unlike = standing(r, own, s, u) < beyond;
            unlike_any[s] = unlike;
        }
    });
    return unlike_any;
}

void set_verdicts(const Fit::Reckoning& r, const std::vector<std::uint8_t>& unlike_any, std::vector<StopFit>& stops,
                  unsigned threads, bool without_draft) {
    std::vector<std::size_t> flaggable;
    for (std::size_t s = 0; s < stops.size(); ++s) {
        const StopFit& stop = stops[s];
        if (stop.mapped_unit != model::no_unit && stop.fitted_unit != stop.mapped_unit && r.has_evidence(s) &&
            !unlike_any[s] && stop.p_mapped < 0.5) {
            flaggable.push_back(s);
        }
    }
    std::stable_sort(flaggable.begin(), flaggable.end(),
                     [&](std::size_t a, std::size_t b) { return stops[a].p_mapped < stops[b].p_mapped; });
    std::vector<std::uint8_t> flagged(stops.size(), 0);
    double false_flags = 0;
    for (std::size_t i = 0; i < flaggable.size(); ++i) {
        false_flags += stops[flaggable[i]].p_mapped;
        if (false_flags > r.survey->settings.false_discovery_rate * static_cast<double>(i + 1)) break;
        flagged[flaggable[i]] = 1;
    }

    const auto settle = [&](std::size_t s, std::vector<double>& soil) {
        StopFit& stop = stops[s];
        const model::Stop& noted = r.survey->stops[s];
        const bool at_contact = stop.contact_distance_m >= 0 && stop.contact_distance_m <= noted.position_sd_m;
        if (without_draft) {
            stop.verdict = !r.has_evidence(s)                                       ? Verdict::no_evidence
                           : unlike_any[s]                                          ? Verdict::unlike_any_unit
                           : stop.p_fitted >= agree_probability                     ? Verdict::fits
                           : stop.p_transported > 0.5 && !r.cover(stop.fitted_unit) ? Verdict::transported
                                                                                    : Verdict::undecided;
        } else if (stop.mapped_unit == model::no_unit) {
            stop.verdict = Verdict::off_map;
        } else if (!r.has_evidence(s)) {
            stop.verdict = Verdict::no_evidence;
        } else if (flagged[s]) {
            stop.verdict =
                at_contact && stop.fitted_unit == stop.neighbour_unit ? Verdict::near_contact : Verdict::conflicts;
        } else if (unlike_any[s]) {
            stop.verdict = Verdict::unlike_any_unit;
        } else if (stop.p_transported > 0.5 && !r.cover(stop.mapped_unit) && noted.unit_seen == model::no_unit) {
            stop.verdict = Verdict::transported;
        } else {
            r.soil_below(s, soil);
            const double best = *std::max_element(soil.begin(), soil.end());
            const double contrary = (best - soil[static_cast<std::size_t>(stop.mapped_unit)]) / std::log(10.0);
            const bool rock_agrees = noted.unit_seen == stop.mapped_unit;
            if (stop.fitted_unit == stop.mapped_unit && stop.p_mapped >= agree_probability &&
                (rock_agrees || contrary < contrary_log10_odds)) {
                stop.verdict = Verdict::agrees;
            } else {
                stop.verdict = at_contact ? Verdict::near_contact : Verdict::undecided;
            }
        }
    };
    parallel_blocks(stops.size(), 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> soil(r.units());
        for (std::size_t s = begin; s < end; ++s) settle(s, soil);
    });
}

}  // namespace subcrop::infer
