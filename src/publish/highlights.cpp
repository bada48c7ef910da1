#include "publish/highlights.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>
#include <tuple>

#include "subcrop/core/counted.hpp"

namespace subcrop::publish {

namespace {

std::string one_decimal(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return text;
}

/// Stops that speak of a contact.
std::size_t beside(const infer::ContactSupport& support) { return support.stops_for + support.stops_against; }

}  // namespace

Point middle_of(const geo::Contact& contact) {
    double left = contact.length_m / 2;
    for (std::size_t i = 1; i < contact.line.size(); ++i) {
        const Point a = contact.line[i - 1], b = contact.line[i];
        const double step = distance(a, b);
        if (step > 0 && step >= left) return {a.x + (b.x - a.x) * left / step, a.y + (b.y - a.y) * left / step};
        left -= step;
    }
    return contact.line.back();
}

std::size_t moved_without_stops(const infer::Fit& fit, const infer::Relocation& relocation) {
    std::size_t count = 0;
    for (std::size_t i = 0; i < fit.contacts.size(); ++i)
        count += beside(fit.contacts[i]) == 0 && review_of(fit, relocation, i) == infer::Review::shift;
    return count;
}

std::vector<Highlight> strongest_conflicts(const model::Survey& survey, const infer::Fit& fit, std::size_t most) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < fit.stops.size(); ++i)
        if (fit.stops[i].verdict == infer::Verdict::conflicts) order.push_back(i);
    const std::size_t kept = std::min(most, order.size());
    auto key = [&](std::size_t i) { return std::tuple(fit.stops[i].p_mapped, -fit.stops[i].soil_log10_odds, i); };
    std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(kept), order.end(),
                      [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
    std::vector<Highlight> result;
    for (std::size_t k = 0; k < kept; ++k) result.push_back({survey.stops[order[k]].id, fit.reason(order[k])});
    return result;
}

std::vector<Highlight> contacts_in_doubt(const model::Survey& survey, const geo::UnitMap& map, const infer::Fit& fit,
                                         const infer::Relocation& relocation, std::size_t most) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < fit.contacts.size(); ++i) {
        const infer::Review review = review_of(fit, relocation, i);
        if (beside(fit.contacts[i]) > 0 && (review == infer::Review::doubtful || review == infer::Review::shift)) order.push_back(i);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return fit.contacts[a].log10_odds_against > fit.contacts[b].log10_odds_against;
    });
    order.resize(std::min(most, order.size()));
    std::vector<Highlight> result;
    for (const std::size_t i : order) {
        const geo::Contact& contact = map.contacts()[i];
        const infer::ContactSupport& support = fit.contacts[i];
        auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
        const Point middle = middle_of(contact);
        auto moved = [&](std::size_t which) -> std::string {
            if (relocation.contacts[which].disputed) return "; the ground on one side of it is disputed, so that it is perhaps not there";
            const std::size_t crossed = relocation.contacts[which].crossed_elsewhere;
            if (review_of(fit, relocation, which) != infer::Review::shift)
                return crossed == 0 ? std::string()
                                    : "; " + counted(crossed, "traverse crosses", "traverses cross") +
                                          " it elsewhere than it is drawn";
            const infer::ContactShift& shift = relocation.shifts[which];
            if (std::abs(shift.shift_m) < survey.contact_sd_m) return {};  // parts of it go either way
            return "; it should run about " + std::to_string(std::llround(std::abs(shift.shift_m))) + " m away (standard error " +
                   std::to_string(std::llround(shift.shift_sd_m)) + " m)";
        };
        result.push_back({code(contact.unit_a) + " | " + code(contact.unit_b),
                          counted(support.stops_against, "stop speaks", "stops speak") + " against it and " +
                              std::to_string(support.stops_for) + " for it; the stretch of " +
                              std::to_string(std::llround(contact.length_m)) + " m whose middle is at " +
                              std::to_string(std::llround(middle.x)) + " east, " +
                              std::to_string(std::llround(middle.y)) + " north" + moved(i) + '.'});
    }
    return result;
}

std::vector<Highlight> open_proposals(const std::vector<ListedProposal>& listed, std::size_t most) {
    std::vector<Highlight> result;
    for (const ListedProposal& one : listed) {
        if (!one.open() || result.size() == most) break;
        std::string text = one.row.what;
        if (one.row.probability && !one.row.parts.empty()) {
            char probability[32];
            std::snprintf(probability, sizeof probability, " Probability %.2f; ", *one.row.probability);
            text += probability;
            if (!one.row.stops.empty()) text += counted(one.row.stops.size(), "stop bears", "stops bear") + " on it.";
            else if (one.nearest_stop_m)
                text += "the nearest stop is " + std::to_string(std::llround(*one.nearest_stop_m)) + " m away.";
        }
        if (!one.row.note.empty()) text += " " + one.row.note;
        result.push_back({one.row.id, std::move(text)});
    }
    return result;
}

std::vector<Highlight> plainest_disputes(const model::Survey& survey, const std::vector<infer::DisputedGround>& disputed,
                                         std::size_t most) {
    std::vector<Highlight> result;
    for (const infer::DisputedGround& d : disputed) {
        if (result.size() == most) break;
        auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
        result.push_back({code(d.drafted) + ", like " + code(d.like),
                          d.reason + " Its middle is at " + std::to_string(std::llround(d.middle.x)) + " east, " +
                              std::to_string(std::llround(d.middle.y)) + " north."});
    }
    return result;
}

std::string in_short(const model::Survey& survey, const geo::UnitMap& map, const infer::NextStop& next) {
    std::string text = std::to_string(std::llround(next.place.x)) + " east, " + std::to_string(std::llround(next.place.y)) + " north: ";
    if (next.unit_a == model::no_unit) return text + "ground without stops.";
    auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
    if (!next.contact) return text + code(next.unit_a) + " by the first map, or " + code(next.unit_b) + "; the visit is expected to put " + one_decimal(next.gain_m / 10) + " ha right.";
    const geo::Contact& contact = map.contacts()[*next.contact];
    return text + "contact " + code(contact.unit_a) + " | " + code(contact.unit_b) + ", known here to " + std::to_string(std::lround(next.half_width_m)) +
           " m to either side, and to about " + std::to_string(std::lround(next.half_width_after_m)) + " m after the visit.";
}

}  // namespace subcrop::publish
