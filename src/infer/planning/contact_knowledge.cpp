#include "infer/planning/contact_knowledge.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>
#include <tuple>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// Only the longest contacts are used; the others have little to gain.
constexpr std::size_t max_contacts = 5000;
/// Stops farther from a contact than this many standard errors are no evidence on its place.
constexpr double near_in_sd = 4;
/// Prior share of stretches of contact that are right, and how many stretches this prior is worth. Common practice, no
/// source.
constexpr double usual_right_share = 0.5, usual_right_worth = 4;
/// Length of contact that is alike, in reaches: sqrt(2 pi), the area below the correlation.
constexpr double stretch_in_reaches = 2.507;
/// Pairs of units with fewer stops use the mean of all pairs too.
constexpr std::size_t fewest_stops = 5;

double usual_reach_m(double contact_sd_m, const geo::UnitMap& map) {
    double length = 0;
    for (const geo::Contact& contact : map.contacts()) length += contact.length_m;
    const double mean = map.contacts().empty() ? 0 : length / static_cast<double>(map.contacts().size());
    return std::sqrt(contact_sd_m * std::max(contact_sd_m, mean));
}

}  // namespace

ContactKnowledge::ContactKnowledge(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                   const Relocation& relocation, unsigned threads, std::optional<double> stated_reach_m,
                                   std::optional<double> stated_right_share)
    : survey_(&survey) {
    ground_ = map.unit_areas_m2();
    const double total = std::accumulate(ground_.begin(), ground_.end(), 0.0);
    for (double& share : ground_) share = total > 0 ? share / total : 1 / static_cast<double>(ground_.size());
    reach_m =
        stated_reach_m.value_or(relocation.moved ? fit.shift.field.reach_m() : usual_reach_m(survey.contact_sd_m, map));
    compare_units(fit);

    std::vector<std::size_t> chosen(map.contacts().size());
    std::iota(chosen.begin(), chosen.end(), std::size_t{0});
    if (chosen.size() > max_contacts) {
        std::stable_sort(chosen.begin(), chosen.end(), [&](std::size_t a, std::size_t b) {
            return map.contacts()[a].length_m > map.contacts()[b].length_m;
        });
        chosen.resize(max_contacts);
        std::sort(chosen.begin(), chosen.end());
    }
    const double even = fit.without_draft ? 0 : 0.5;
    std::vector<std::optional<Known>> made(chosen.size());
    parallel_blocks(chosen.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t k = begin; k < end; ++k) {
            const geo::Contact& contact = map.contacts()[chosen[k]];
            const Line& line = relocated_line(relocation, map, chosen[k]);
            if (line.size() < 2) continue;
            std::vector<double> sd = relocation.contacts[chosen[k]].half_widths_m;
            for (double& width : sd) width /= half_width_in_sd;
            made[k] = Known{chosen[k], contact.left, contact.left == contact.unit_a ? contact.unit_b : contact.unit_a,
                            ContactProcess(line, {.reach_m = reach_m, .right_share = even}, sd)};
        }
    });
    std::vector<std::size_t> place_of(map.contacts().size(), made.size());
    for (auto& known : made) {
        if (!known) continue;
        place_of[known->contact] = contacts.size();
        contacts.push_back(std::move(*known));
    }
    if (fit.without_draft) return;  // the contacts of a first map were drawn from these stops

    struct Heard {
        std::size_t stop;
        double distance_m;
    };
    std::vector<std::vector<Heard>> heard(contacts.size());
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const model::Stop& stop = survey.stops[s];
        if (!fit.reckoning->has_evidence(s)) continue;
        const auto nearest =
            map.nearest_contact(stop.position, near_in_sd * std::hypot(stop.position_sd_m, fit.contact_sd_m));
        if (nearest && place_of[nearest->contact] < contacts.size())
            heard[place_of[nearest->contact]].push_back({s, nearest->distance_m});
    }
    parallel_blocks(contacts.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> likelihood(survey.units.size());
        for (std::size_t k = begin; k < end; ++k) {
            // The nearest first, because the first stops are treated most exactly. Ties by place, so that the order of
            // rows does not matter.
            std::sort(heard[k].begin(), heard[k].end(), [&](const Heard& a, const Heard& b) {
                const Point p = survey.stops[a.stop].position, q = survey.stops[b.stop].position;
                return std::tuple(a.distance_m, p.x, p.y, a.stop) < std::tuple(b.distance_m, q.x, q.y, b.stop);
            });
            // If contacts were moved, the process already includes the stops. They then only decide whether the line,
            // as it now is, is right.
            ContactProcess& process = contacts[k].process;
            ContactProcess asked =
                relocation.moved
                    ? ContactProcess(relocated_line(relocation, map, contacts[k].contact),
                                     {.reach_m = reach_m, .right_share = even}, std::array{fit.contact_sd_m})
                    : process;
            for (const Heard& h : heard[k]) {
                fit.reckoning->tempered_log_likelihood(h.stop, likelihood);
                const auto [left, right] = sides(contacts[k], likelihood);
                const auto [node, offset] = asked.seat(survey.stops[h.stop].position);
                asked.hear(node, offset, survey.stops[h.stop].position_sd_m, left, right);
            }
            if (!relocation.moved) {
                process = std::move(asked);
                continue;
            }
            for (std::size_t i = 0; i < process.nodes().size(); ++i) process.set_right(i, asked.right(i));
        }
    });
    learn_right_share(stated_right_share);
}

/// Each contact used its stops at even prior odds, so the odds at a node are now the evidence of the stops alone. The
/// share is the maximum a posteriori estimate. Each node's probability then follows by Bayes' rule.
void ContactKnowledge::learn_right_share(std::optional<double> stated) {
    right_share = stated.value_or(usual_right_share);
    const auto by_bayes = [&](double p) { return p * right_share / (p * right_share + (1 - p) * (1 - right_share)); };
    for (int round = 0; !stated && round < 100; ++round) {  // expectation and maximisation
        double right = usual_right_worth * usual_right_share, all = usual_right_worth;
        for (const Known& known : contacts) {
            const std::size_t nodes = known.process.nodes().size();
            double length = 0, sum = 0;
            for (std::size_t i = 0; i < nodes; ++i) {
                length += known.process.nodes()[i].length_m;
                sum += by_bayes(known.process.right(i));
            }
            const double stretches = std::max(1.0, length / (stretch_in_reaches * reach_m));
            right += stretches * sum / static_cast<double>(nodes);
            all += stretches;
        }
        right_share = right / all;
    }
    for (Known& known : contacts)
        for (std::size_t i = 0; i < known.process.nodes().size(); ++i)
            known.process.set_right(i, by_bayes(known.process.right(i)));
}

void ContactKnowledge::compare_units(const Fit& fit) {
    const std::size_t units = survey_->units.size();
    discernments_.assign(units * units, {});
    std::vector<double> likelihood(units);
    for (std::size_t s = 0; s < survey_->stops.size(); ++s) {
        const model::UnitIndex seen = survey_->stops[s].unit_seen,
                               own = seen != model::no_unit ? seen : fit.stops[s].mapped_unit;
        if (own == model::no_unit || !fit.reckoning->has_evidence(s)) continue;
        fit.reckoning->tempered_log_likelihood(s, likelihood);
        for (std::size_t u = 0; u < units; ++u) {
            if (u == static_cast<std::size_t>(own)) continue;
            const double odds = likelihood[static_cast<std::size_t>(own)] - likelihood[u], t = std::tanh(odds / 2);
            const std::size_t a = std::min(u, static_cast<std::size_t>(own)),
                              b = std::max(u, static_cast<std::size_t>(own));
            Discernment& pair = discernments_[a * units + b];
            pair.mean += t * t;
            pair.right += odds > 0;
            ++pair.stops;
        }
    }
    Discernment all;
    for (const Discernment& pair : discernments_) {
        all.mean += pair.mean;
        all.stops += pair.stops;
    }
    const double pooled = all.stops > 0 ? all.mean / static_cast<double>(all.stops) : 0;
    for (std::size_t a = 0; a < units; ++a) {
        for (std::size_t b = a + 1; b < units; ++b) {
            Discernment& pair = discernments_[a * units + b];
            pair.mean = pair.stops < fewest_stops ? pooled : pair.mean / static_cast<double>(pair.stops);
            discernments_[b * units + a] = pair;
        }
    }
}

const Discernment& ContactKnowledge::between(model::UnitIndex a, model::UnitIndex b) const {
    return discernments_[static_cast<std::size_t>(a) * survey_->units.size() + static_cast<std::size_t>(b)];
}

std::pair<double, double> ContactKnowledge::sides(const Known& known, std::span<const double> log_likelihood) const {
    const double error = survey_->settings.draft_error_share;
    double pooled = 0;
    for (std::size_t u = 0; u < log_likelihood.size(); ++u) pooled += ground_[u] * std::exp(log_likelihood[u]);
    const auto mixed = [&](model::UnitIndex unit) {
        return (1 - error) * std::exp(log_likelihood[static_cast<std::size_t>(unit)]) + error * pooled;
    };
    return {mixed(known.left), mixed(known.right)};
}

}  // namespace subcrop::infer
