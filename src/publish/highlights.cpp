#include "publish/highlights.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>
#include <tuple>

#include "subcrop/core/counted.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/infer/where_to_dig.hpp"

namespace subcrop::publish {

namespace {

std::string one_decimal(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return text;
}

/// Stops that support or contradict a contact.
std::size_t beside(const infer::ContactSupport& support) { return support.stops_for + support.stops_against; }

/// "Stops 04-12, 04-13 and 3 more".
std::string few_names(const model::Survey& survey, const std::vector<std::uint32_t>& stops) {
    constexpr std::size_t most = 4;
    const std::size_t named = stops.size() <= most + 1 ? stops.size() : most;
    std::string text = stops.size() == 1 ? "Stop " : "Stops ";
    for (std::size_t k = 0; k < named; ++k)
        text += (k == 0 ? "" : k + 1 == stops.size() ? " and " : ", ") + survey.stops[stops[k]].id;
    if (named < stops.size()) text += " and " + std::to_string(stops.size() - named) + " more";
    return text;
}

/// Where a contact is in doubt, and why.
std::string doubt_words(const model::Survey& survey, const infer::Relocation& relocation, std::size_t contact,
                        const infer::ContactStretch& part, double contact_m) {
    const auto metres = [](double m) { return std::to_string(std::llround(m)) + " m"; };
    const double length_m = part.to_m - part.from_m;
    std::string text = length_m > 0.99 * contact_m ? "Along all of its " + metres(contact_m) + "."
                                                   : "Along " + metres(length_m) + " of its " + metres(contact_m) + ".";
    if (!part.contradicting.empty())
        text += ' ' + few_names(survey, part.contradicting) +
                (part.contradicting.size() == 1 ? " contradicts it." : " contradict it.");
    if (!part.supporting.empty())
        text += ' ' + counted(part.supporting.size(), "stop supports it.", "stops support it.");
    if (relocation.contacts[contact].disputed) text += " The area on one side of it is disputed, so it may not exist.";
    if (part.crossed_elsewhere) text += " A traverse crosses it away from the drawn line.";
    return text;
}

}  // namespace

Point middle_of(const geo::Contact& contact) { return place_along(contact.line, contact.length_m / 2); }

std::size_t moved_without_stops(const infer::Fit& fit, const infer::Relocation& relocation) {
    std::size_t count = 0;
    for (std::size_t i = 0; i < fit.contacts.size(); ++i)
        count += beside(fit.contacts[i]) == 0 && review_of(relocation, i) == infer::Review::shift;
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
    struct Doubt {
        std::size_t contact;
        const infer::ContactStretch* part;
    };
    std::vector<Doubt> doubts;
    for (std::size_t i = 0; i < relocation.contacts.size(); ++i)
        for (const infer::ContactStretch& part : relocation.contacts[i].parts)
            if (part.review == infer::Review::doubtful) doubts.push_back({i, &part});
    std::stable_sort(doubts.begin(), doubts.end(), [](const Doubt& a, const Doubt& b) {
        return a.part->log10_odds_against > b.part->log10_odds_against;
    });
    doubts.resize(std::min(most, doubts.size()));
    std::vector<Highlight> result;
    for (const auto& [i, part] : doubts) {
        const geo::Contact& contact = map.contacts()[i];
        const auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
        const auto dig = where_to_dig(survey, map, fit, relocation, i, *part);
        result.push_back({code(contact.unit_a) + " | " + code(contact.unit_b),
                          doubt_words(survey, relocation, i, *part, contact.length_m) +
                              (dig ? ' ' + dig->sentence : std::string())});
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
               one_decimal(next.gain_ha) + " ha.";
    const geo::Contact& contact = map.contacts()[*next.contact];
    return text + "contact " + code(contact.unit_a) + " | " + code(contact.unit_b) + ", located to ± " +
           std::to_string(std::lround(next.half_width_m)) + " m (90 %). One stop here should narrow it to ± " +
           std::to_string(std::lround(next.half_width_after_m)) + " m.";
}

}  // namespace subcrop::publish
