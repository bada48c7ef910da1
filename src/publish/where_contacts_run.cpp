#include "publish/where_contacts_run.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string_view>

#include "publish/quantity_words.hpp"
#include "subcrop/core/counted.hpp"

namespace subcrop::publish {

namespace {

/// If all visits together are expected to correct less than this share of the map, that is little for a walk. Our
/// choice.
constexpr double little_gain = 0.001;

std::string one_decimal(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return text;
}

std::string metres(double m) { return std::to_string(std::llround(m)); }

/// "3.1 of 47.0 km", "320 m of 47.0 km", "320 of 840 m".
std::string part_of(double length_m, double of_m) {
    if (of_m < 1000) return metres(length_m) + " of " + metres(of_m) + " m";
    const std::string of = one_decimal(of_m / 1000) + " km";
    return length_m < 1000 ? metres(length_m) + " m of " + of : one_decimal(length_m / 1000) + " of " + of;
}

/// Probability from ln odds.
std::string odds_to_one(double log_odds) {
    const double odds = std::exp(std::min(log_odds, 20.0));
    if (odds > 1000) return "over 1000 to 1";
    return (odds < 10 ? one_decimal(odds) : metres(odds)) + " to 1";
}

/// A sentence with a space before it.
std::string revised_in_a_line(const infer::RevisedMap& revised) {
    if (revised.changed_m2 <= 0) return " The revised map is the draft as drawn.";
    return " The revised map gives " + hectares(revised.changed_m2) + " of " + metres(revised.area_m2 / 1e4) +
           " ha to another unit.";
}

double corrected_m2(const std::vector<infer::NextStop>& next_stops) {
    double gain_m2 = 0;
    for (const infer::NextStop& next : next_stops) gain_m2 += next.gain_ha * 1e4;
    return gain_m2;
}

}  // namespace

std::string contacts_in_a_line(const infer::MovedLength& length) {
    if (length.stretches == 0) return "No contact needs to move, as far as these stops can tell";
    const std::string least = metres(length.min_m), most = metres(length.max_m);
    return "Contacts are misplaced along " + part_of(length.length_m, length.of_m) + ", by " + metres(length.mean_m) +
           " m on average" + (least == most ? "" : " (" + least + " to " + most + " m)");
}

std::string contacts_because(const infer::MovedLength& length, const infer::Fit& fit,
                             const infer::Relocation& relocation, const infer::RevisedMap& revised) {
    if (fit.shift.decided_by.empty()) {
        return "Not asked. Above 200,000 stops contacts are moved and traverses followed only if the settings ask for "
               "it "
               "(move_contacts, follow_traverses).";
    }
    if (!relocation.moved) {
        std::size_t untested = 0;
        for (std::size_t i = 0; i < fit.contacts.size(); ++i)
            untested += infer::review_of(relocation, i) == infer::Review::untested;
        return "Moving contacts did not improve predictions at hidden stops." +
               (untested == 0
                    ? ""
                    : " " + std::to_string(untested) + " of " + counted(fit.contacts.size(), "contact", "contacts") +
                          (untested == 1 ? " has" : " have") + " too few stops nearby to test.") +
               revised_in_a_line(revised);
    }
    if (!fit.shift.stretches.empty()) {
        const auto& stretches = fit.shift.stretches;
        double least = stretches.front().log_odds;
        for (const infer::MisplacedStretch& stretch : stretches) least = std::min(least, stretch.log_odds);
        return "The draft as a whole stays. " +
               counted(stretches.size(), "stretch of contact moves", "stretches of contact move") +
               ", because the stops beside " + (stretches.size() > 1 ? "each of them" : "it") +
               " support it (odds of " + (stretches.size() > 1 ? "at least " : "") + odds_to_one(least) + ")." +
               (length.stretches > 0 ? " There the drawn line lies outside the 90 % zone." : "") +
               revised_in_a_line(revised);
    }
    const std::string shift =
        " Moving the contacts smoothly predicts " + fit.shift.decided_by +
        " at hidden stops better than the draft does. The displacement has an amplitude of about " +
        metres(fit.shift.amplitude_m) + " m and a correlation length of about " + metres(fit.shift.reach_m) + " m.";
    return (length.stretches == 0 ? "Everywhere the drawn line lies inside the 90 % zone."
                                  : "There the drawn line lies outside the 90 % zone.") +
           shift + revised_in_a_line(revised);
}

std::vector<StretchOf> largest_stretches(const infer::Relocation& relocation) {
    std::vector<StretchOf> all;
    for (std::size_t i = 0; i < relocation.contacts.size(); ++i)
        for (std::size_t k = 0; k < relocation.contacts[i].stretches.size(); ++k) all.push_back({i, k});
    const auto area = [&](const StretchOf& of) {
        const infer::MovedStretch& stretch = relocation.contacts[of.contact].stretches[of.stretch];
        return stretch.length_m * stretch.shift_m;
    };
    std::stable_sort(all.begin(), all.end(), [&](const StretchOf& a, const StretchOf& b) { return area(a) > area(b); });
    return all;
}

std::vector<Highlight> stretches_elsewhere(const model::Survey& survey, const geo::UnitMap& map,
                                           const infer::Relocation& relocation, std::size_t most) {
    std::vector<StretchOf> all = largest_stretches(relocation);
    all.resize(std::min(most, all.size()));
    const auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
    std::vector<Highlight> result;
    for (const StretchOf& of : all) {
        const geo::Contact& contact = map.contacts()[of.contact];
        const infer::MovedStretch& s = relocation.contacts[of.contact].stretches[of.stretch];
        result.push_back({code(contact.unit_a) + " | " + code(contact.unit_b),
                          metres(s.length_m) + " m of it should move " + metres(s.shift_m) + " m" +
                              (s.azimuth_deg ? " to the " + std::string(towards(*s.azimuth_deg)) : "") + " (± " +
                              metres(infer::half_width_in_sd * s.shift_sd_m) +
                              " m, 90 %). Middle: " + metres(s.middle.x) + " east, " + metres(s.middle.y) + " north."});
    }
    return result;
}

std::string hectares_put_right(const std::vector<infer::NextStop>& next_stops) {
    const double gain_m2 = corrected_m2(next_stops);
    return gain_m2 < 1e3 ? "under 0.1" : one_decimal(gain_m2 / 1e4);
}

std::string worth_of_visits(const std::vector<infer::NextStop>& next_stops, double mapped_m2) {
    if (next_stops.empty()) return {};
    std::string text =
        (next_stops.size() == 1 ? "It is" : "All " + std::to_string(next_stops.size()) + " together are") +
        " expected to correct " + hectares_put_right(next_stops) + " of the map's " + metres(mapped_m2 / 1e4) + " ha.";
    if (corrected_m2(next_stops) < little_gain * mapped_m2) text += " That is little for a walk.";
    return text;
}

}  // namespace subcrop::publish
