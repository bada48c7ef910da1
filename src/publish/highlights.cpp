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

/// Stops that support or contradict a contact.
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
        if (beside(fit.contacts[i]) > 0 && (review == infer::Review::doubtful || review == infer::Review::shift))
            order.push_back(i);
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
            if (relocation.contacts[which].disputed)
                return " The area on one side of it is disputed, so it may not exist.";
            const std::size_t crossed = relocation.contacts[which].crossed_elsewhere;
            if (review_of(fit, relocation, which) != infer::Review::shift)
                return crossed == 0 ? std::string()
                                    : " " + counted(crossed, "traverse crosses", "traverses cross") +
                                          " it away from the drawn line.";
            const infer::ContactShift& shift = relocation.shifts[which];
            if (std::abs(shift.shift_m) < survey.contact_sd_m) return {};  // its parts move in different directions
            return " It should move about " + std::to_string(std::llround(std::abs(shift.shift_m))) + " m (± " +
                   std::to_string(std::llround(infer::half_width_in_sd * shift.shift_sd_m)) + " m, 90 %).";
        };
        result.push_back({code(contact.unit_a) + " | " + code(contact.unit_b),
                          counted(support.stops_against, "stop contradicts", "stops contradict") + " it, " +
                              std::to_string(support.stops_for) + (support.stops_for == 1 ? " supports" : " support") +
                              " it." + moved(i) + " Length: " + std::to_string(std::llround(contact.length_m)) +
                              " m. Middle: " + std::to_string(std::llround(middle.x)) + " east, " +
                              std::to_string(std::llround(middle.y)) + " north."});
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
            if (!one.row.stops.empty())
                text += counted(one.row.stops.size(), "stop bears", "stops bear") + " on it.";
            else if (one.nearest_stop_m)
                text += "the nearest stop is " + std::to_string(std::llround(*one.nearest_stop_m)) + " m away.";
        }
        if (!one.row.note.empty()) text += " " + one.row.note;
        result.push_back({one.row.id, std::move(text)});
    }
    return result;
}

std::vector<Highlight> plainest_disputes(const model::Survey& survey, const std::vector<infer::DisputedArea>& disputed,
                                         std::size_t most) {
    std::vector<Highlight> result;
    for (const infer::DisputedArea& d : disputed) {
        if (result.size() == most) break;
        auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
        result.push_back({code(d.drafted) + ", like " + code(d.like),
                          d.reason + " Middle: " + std::to_string(std::llround(d.middle.x)) + " east, " +
                              std::to_string(std::llround(d.middle.y)) + " north."});
    }
    return result;
}

std::string in_short(const model::Survey& survey, const geo::UnitMap& map, const infer::NextStop& next) {
    std::string text = std::to_string(std::llround(next.place.x)) + " east, " +
                       std::to_string(std::llround(next.place.y)) + " north: ";
    if (next.unit_a == model::no_unit) return text + "area without stops.";
    auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
    if (!next.contact)
        return text + code(next.unit_a) + (survey.map_source.empty() ? " on the first map" : " as mapped") +
               ", but perhaps " + code(next.unit_b) + ". A stop here is expected to correct " +
               one_decimal(next.gain_m / 10) + " ha.";
    const geo::Contact& contact = map.contacts()[*next.contact];
    return text + "contact " + code(contact.unit_a) + " | " + code(contact.unit_b) + ", located to ± " +
           std::to_string(std::lround(next.half_width_m)) + " m (90 %). One stop here should narrow it to ± " +
           std::to_string(std::lround(next.half_width_after_m)) + " m.";
}

}  // namespace subcrop::publish
