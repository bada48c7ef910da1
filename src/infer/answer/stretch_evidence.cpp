#include "infer/answer/stretch_evidence.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"

namespace subcrop::infer {

namespace {

constexpr double step_in_sd = 0.25;
constexpr double longest_group = 4;     ///< in gaps between groups; for stops that lie along the contact
constexpr std::size_t max_groups = 40;  ///< in one stretch; longer ones are left to the displacement of the map

/// A stop beside a contact.
struct Beside {
    std::uint32_t contact = 0;
    std::uint32_t stop = 0;
    double along_m = 0;
    std::vector<double> log_likelihood;  ///< one for each displacement tried
};

/// One stretch and its extent along the contact.
struct Candidate {
    double from_m = 0, to_m = 0;
    MisplacedStretch stretch;
};

struct Foot {
    double along_m = 0;
    Point normal;  ///< to the left
};

/// Chainage of the nearest place on the line, and the normal there.
Foot foot_on(const Line& line, Point place) {
    const NearestOnLine nearest = nearest_on(line, place);
    const Point a = line[nearest.edge - 1], b = line[nearest.edge];
    const double length = std::max(distance(a, b), 1e-9);
    return {nearest.along_m, {-(b.y - a.y) / length, (b.x - a.x) / length}};
}

double log_sum(const std::vector<double>& terms, const std::vector<std::uint8_t>& taken, bool which) {
    double greatest = -std::numeric_limits<double>::infinity(), sum = 0;
    for (std::size_t k = 0; k < terms.size(); ++k)
        if ((taken[k] != 0) == which) greatest = std::max(greatest, terms[k]);
    for (std::size_t k = 0; k < terms.size(); ++k)
        if ((taken[k] != 0) == which) sum += std::exp(terms[k] - greatest);
    return greatest + std::log(sum);
}

/// The evidence of one group of stops on each displacement.
struct Group {
    double first_m = 0, last_m = 0;  ///< along the contact
    std::vector<std::uint32_t> stops;
    std::vector<double> log_likelihood;
};

class Search {
public:
    Search(const StretchInput& input) : input_(input) {
        const double reach = input.settings.stretch_reach, prior = input.settings.stretch_sd;
        for (double d = -reach; d <= reach + 1e-9; d += step_in_sd) {
            shift_m_.push_back(d * input.stated_sd_m);
            log_prior_.push_back(-0.5 * d * d / (prior * prior));
            beyond_.push_back(std::abs(d) > input.settings.stretch_beyond);
        }
    }
    const std::vector<double>& shifts() const { return shift_m_; }

    /// ln odds of a relevant displacement, from these sums over the stops.
    double log_odds(std::vector<double> sums) const {
        for (std::size_t k = 0; k < sums.size(); ++k) sums[k] += log_prior_[k];
        return log_sum(sums, beyond_, true) - log_sum(sums, beyond_, false);
    }

    /// The surest stretches of one contact, with ln odds over `needed`.
    std::vector<MisplacedStretch> along(std::uint32_t number, const geo::Contact& contact,
                                        const std::vector<Group>& groups, double needed) const {
        std::vector<Candidate> found;
        const AnswerSettings& settings = input_.settings;
        for (std::size_t first = 0; first < groups.size(); ++first) {
            std::vector<double> sums(shift_m_.size(), 0.0);
            for (std::size_t last = first; last < std::min(groups.size(), first + max_groups); ++last) {
                add(sums, groups[last].log_likelihood, 1);
                if (last + 1 < first + settings.stretch_groups) continue;
                const double odds = log_odds(sums);
                if (odds < needed) continue;
                Candidate one;
                one.stretch.contact = number;
                one.stretch.log_odds = one.stretch.log_odds_without_one = odds;
                for (std::size_t g = first; g <= last; ++g) {
                    std::vector<double> without = sums;
                    add(without, groups[g].log_likelihood, -1);
                    one.stretch.log_odds_without_one = std::min(one.stretch.log_odds_without_one, log_odds(without));
                    one.stretch.stops.insert(one.stretch.stops.end(), groups[g].stops.begin(), groups[g].stops.end());
                }
                if (one.stretch.log_odds_without_one < settings.stretch_needed_without_one) continue;
                if (!place(sums, one.stretch)) continue;
                one.from_m = first > 0 ? (groups[first - 1].last_m + groups[first].first_m) / 2 : 0;
                one.to_m =
                    last + 1 < groups.size() ? (groups[last].last_m + groups[last + 1].first_m) / 2 : contact.length_m;
                found.push_back(std::move(one));
            }
        }
        std::stable_sort(found.begin(), found.end(), [](const Candidate& a, const Candidate& b) {
            return a.stretch.log_odds > b.stretch.log_odds;
        });
        std::vector<Candidate> kept;
        for (Candidate& one : found) {
            const bool apart = std::all_of(kept.begin(), kept.end(), [&](const Candidate& other) {
                return one.to_m <= other.from_m || one.from_m >= other.to_m;
            });
            if (!apart) continue;
            one.stretch.drafted = part_of(contact.line, one.from_m, one.to_m);
            kept.push_back(std::move(one));
        }
        std::vector<MisplacedStretch> result;
        for (Candidate& one : kept) result.push_back(std::move(one.stretch));
        return result;
    }

private:
    static void add(std::vector<double>& sums, const std::vector<double>& terms, double sign) {
        for (std::size_t k = 0; k < sums.size(); ++k) sums[k] += sign * terms[k];
    }
    /// False if the shift is too large for an error of the contact.
    bool place(std::vector<double> sums, MisplacedStretch& stretch) const {
        for (std::size_t k = 0; k < sums.size(); ++k) sums[k] += log_prior_[k];
        const double greatest = *std::max_element(sums.begin(), sums.end());
        double all = 0, mean = 0, squares = 0, at_ends = 0;
        for (std::size_t k = 0; k < sums.size(); ++k) {
            const double p = std::exp(sums[k] - greatest);
            all += p;
            mean += p * shift_m_[k];
            squares += p * shift_m_[k] * shift_m_[k];
            if (k < 2 || k + 2 >= sums.size()) at_ends += p;
        }
        stretch.shift_m = mean / all;
        stretch.shift_sd_m = std::sqrt(std::max(0.0, squares / all - stretch.shift_m * stretch.shift_m));
        return at_ends < 0.25 * all && std::abs(stretch.shift_m) <= input_.settings.stretch_most * input_.stated_sd_m;
    }

    StretchInput input_;
    std::vector<double> shift_m_, log_prior_;
    std::vector<std::uint8_t> beyond_;
};

}  // namespace

std::vector<MisplacedStretch> find_misplaced_stretches(const Testimony& testimony, const Seats& seats,
                                                       const std::vector<float>& likelihood,
                                                       const BlurredDraft::Layer& layer, const geo::UnitMap& map,
                                                       const StretchInput& input, unsigned threads) {
    const Search search(input);
    const double reach_m = (input.settings.stretch_reach + 0.5) * input.stated_sd_m;
    std::vector<Beside> beside(testimony.size());
    std::vector<std::uint8_t> near(testimony.size(), 0);
    parallel_blocks(testimony.size(), 64, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            const auto nearest = map.nearest_contact(testimony.place[i], reach_m);
            if (!nearest) continue;
            const Foot foot = foot_on(map.contacts()[nearest->contact].line, testimony.place[i]);
            Beside& one = beside[i];
            one = {nearest->contact, static_cast<std::uint32_t>(i), foot.along_m, {}};
            const float* c = &likelihood[i * testimony.units];
            const double pooled = pooled_likelihood(input.shares, c);
            for (const double d : search.shifts())
                one.log_likelihood.push_back(log_likelihood(layer, seats, i, {-d * foot.normal.x, -d * foot.normal.y},
                                                            c, pooled, input.error_share, nullptr));
            near[i] = 1;
        }
    });
    std::vector<const Beside*> order;
    for (std::size_t i = 0; i < beside.size(); ++i)
        if (near[i]) order.push_back(&beside[i]);
    std::stable_sort(order.begin(), order.end(), [](const Beside* a, const Beside* b) {
        return a->contact != b->contact ? a->contact < b->contact : a->along_m < b->along_m;
    });
    const double apart_m = input.settings.stretch_apart * input.stated_sd_m;
    std::vector<std::pair<std::uint32_t, std::vector<Group>>> contacts;
    std::size_t group_count = 0;
    for (const Beside* one : order) {
        if (contacts.empty() || contacts.back().first != one->contact) contacts.push_back({one->contact, {}});
        std::vector<Group>& groups = contacts.back().second;
        const bool fresh = groups.empty() || one->along_m - groups.back().last_m > apart_m ||
                           one->along_m - groups.back().first_m > longest_group * apart_m;
        if (fresh) {
            groups.push_back({one->along_m, one->along_m, {}, std::vector<double>(search.shifts().size(), 0.0)});
            ++group_count;
        }
        Group& group = groups.back();
        group.last_m = one->along_m;
        group.stops.push_back(testimony.stop[one->stop]);
        for (std::size_t k = 0; k < group.log_likelihood.size(); ++k) group.log_likelihood[k] += one->log_likelihood[k];
    }
    const double asked = static_cast<double>(group_count) / static_cast<double>(input.settings.stretch_groups);
    // If little bedrock was observed, signatures learnt from the draft may mistake a trend of the soil for a contact.
    const auto observed = static_cast<std::size_t>(
        std::count_if(testimony.observed.begin(), testimony.observed.end(), [](auto o) { return o != 0; }));
    const double caution = observed < input.settings.min_observed ? input.settings.stretch_caution_by_soil : 1;
    const double needed = input.settings.stretch_needed_nats + caution * std::log(std::max(1.0, asked));
    std::vector<MisplacedStretch> result;
    for (const auto& [number, groups] : contacts)
        for (MisplacedStretch& stretch : search.along(number, map.contacts()[number], groups, needed))
            result.push_back(std::move(stretch));
    std::stable_sort(result.begin(), result.end(),
                     [](const auto& a, const auto& b) { return a.log_odds > b.log_odds; });
    return result;
}

}  // namespace subcrop::infer
