// A unit in words. Each clause carries the count it rests on; what was not noted is not mentioned.
#include <cmath>
#include <cstdio>

#include "subcrop/core/counted.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

namespace {

std::string whole(double value) { return std::to_string(std::lround(value)); }
std::string percent(double part, double of) {
    const double share = of > 0 ? 100 * part / of : 0;
    return share > 0 && share < 0.5 ? "under 1 %" : whole(share) + " %";
}

std::string decimal(double value, const char* format) {
    char text[32];
    std::snprintf(text, sizeof text, format, value);
    return text;
}

std::string ground(double area_m2) {
    const double hectares = area_m2 / 1e4;
    return hectares < 10 ? decimal(hectares, "%.1f") + " ha" : hectares < 1e4 ? whole(hectares) + " ha" : decimal(hectares / 100, "%.0f") + " km2";
}

std::string kilometres(double metres) { return metres < 950 ? whole(metres) + " m" : decimal(metres / 1000, "%.1f") + " km"; }

std::string ranged(double least, double greatest) {
    return std::lround(least) == std::lround(greatest) ? whole(least) : whole(least) + " to " + whole(greatest);
}

/// "clay loam" of "CL".
std::string texture_words(const std::string& code) {
    const auto reading = field::parse_texture(code);
    return reading.value ? std::string(field::name(reading.value->texture_class)) : code;
}

std::string depth_words(const char* what, const DepthSummary& depth) {
    if (depth.reached == 0) {
        return depth.deeper == 0 ? "" : std::string(" None of ") + counted(depth.deeper, "hole", "holes") + " reached " + what + '.';
    }
    std::string text = (depth.reached == 1 ? " One hole" : " " + counted(depth.reached, "hole", "holes")) + " reached " + what + " at " +
                       ranged(*depth.least_cm, *depth.greatest_cm) + " cm";
    if (depth.deeper > 0) text += "; " + std::to_string(depth.deeper) + " ended above it";
    if (depth.median_cm) text += "; median " + whole(*depth.median_cm) + " cm" + (depth.deeper > 0 ? ", those counted as deeper" : "");
    else if (depth.reached > 1) text += ", too many to tell a median";
    return text + '.';
}

std::string reaction_words(const Tally& reaction) {
    const std::size_t total = reaction.total();
    if (total == 0) return {};
    std::size_t none = 0;
    std::string classes;
    for (const field::EffervescenceClass& c : field::effervescence_classes()) {
        for (const Counted& value : reaction.values) {
            if (value.name != c.code) continue;
            if (c.code == "NE") none = value.count;
            else classes += (classes.empty() ? "" : ", ") + value.name + ' ' + std::to_string(value.count);
        }
    }
    return " It reacted to acid at " + std::to_string(total - none) + " of " + counted(total, "stop", "stops") +
           (classes.empty() ? "" : " (" + classes + ")") + '.';
}

std::string soil_words(const UnitSummary& u) {
    std::string text;
    auto colour = [&](const ColourSummary& c, const char* state) {
        if (c.chip.empty()) return;
        std::size_t own = 0;
        for (const Counted& chip : c.chips.values)
            if (chip.name == c.chip) own = chip.count;
        text += text.empty() ? " Subsoil: " : ", ";
        text += std::string(state) + ' ' + c.chip + " (the middle of " + counted(c.chips.total(), "colour", "colours") + ", " +
                std::to_string(own) + " of them this chip)";
    };
    colour(u.moist, "moist");
    colour(u.dry, "dry");
    if (!u.texture.classes.values.empty()) {
        const Counted& commonest = u.texture.classes.values.front();
        text += text.empty() ? " Subsoil: " : ", ";
        text += texture_words(commonest.name) + " in " + std::to_string(commonest.count) + " of " +
                counted(u.texture.classes.total(), "horizon", "horizons");
    }
    const FragmentSummary& f = u.fragments;
    if (f.median_pct) {
        text += text.empty() ? " Subsoil: " : ", ";
        text += whole(*f.median_pct) + " % fragments (";
        text += f.horizons == 1 ? "one horizon)" : "median of " + std::to_string(f.horizons) + ", " + ranged(*f.least_pct, *f.greatest_pct) + " %)";
    }
    if (!f.kinds.values.empty()) {
        const Counted& commonest = f.kinds.values.front();
        text += text.empty() ? " Subsoil: " : ", ";
        text += "kind of fragments " + commonest.name + " in " + std::to_string(commonest.count) + " of " + std::to_string(f.kinds.total()) + " that name their kind";
    }
    return text.empty() ? text : text + '.';
}

std::string contact_words(const ContactsKnown& known) {
    if (known.contacts == 0) return {};
    std::string text = " Of its " + counted(known.contacts, "contact", "contacts") + " (" + kilometres(known.length_m) + ") ";
    bool first = true;
    for (const auto location : {LocationClass::accurate, LocationClass::approximate, LocationClass::inferred, LocationClass::concealed}) {
        const double length = known.length_of_class_m[static_cast<std::size_t>(location)];
        if (length <= 0) continue;
        text += (first ? "" : ", ") + percent(length, known.length_m) + (first ? " of the length is " : " ") + std::string(to_string(location));
        first = false;
    }
    std::string reviews;
    auto say = [&](std::size_t n, const char* what) {
        if (n > 0) reviews += (reviews.empty() ? "" : ", ") + std::to_string(n) + ' ' + what;
    };
    say(known.elsewhere, known.elsewhere == 1 ? "runs elsewhere, in part at least" : "run elsewhere, in part at least");
    say(known.doubtful, known.doubtful == 1 ? "is in doubt" : "are in doubt");
    say(known.untested, known.untested == 1 ? "is untested" : "are untested");
    return text + (reviews.empty() ? "" : "; " + reviews) + '.';
}

}  // namespace

std::size_t Tally::total() const {
    std::size_t sum = 0;
    for (const Counted& value : values) sum += value.count;
    return sum;
}

std::string Tally::text(std::size_t most) const {
    std::string result;
    const std::size_t all = total();
    for (std::size_t i = 0; i < std::min(most, values.size()); ++i) {
        result += (i > 0 ? ", " : "") + values[i].name + " (" + percent(static_cast<double>(values[i].count), static_cast<double>(all)) +
                  (i == 0 ? " of " + std::to_string(all) : "") + ')';
    }
    return result;
}

std::string ProfileSummary::text() const {
    if (horizons.empty()) return {};
    std::string names, depths;
    for (const Horizon& horizon : horizons) {
        names += (names.empty() ? "" : ", ") + horizon.name;
        if (!horizon.top_cm) continue;
        depths += (depths.empty() ? "" : ", ") + horizon.name +
                  (horizon.bottom_cm ? ' ' + whole(*horizon.top_cm) + " to " + whole(*horizon.bottom_cm) : " from " + whole(*horizon.top_cm)) + " cm";
    }
    return names + " (" + std::to_string(stops) + " of " + counted(described, "profile", "profiles") + ')' +
           (depths.empty() ? "" : ": " + depths + (stops > 1 ? ", medians" : ""));
}

std::string unit_description(const model::Survey& survey, const UnitSummary& u) {
    const model::LegendUnit& legend = survey.units[static_cast<std::size_t>(u.unit)];
    std::string text = legend.name.empty() ? legend.code : legend.name + " (" + legend.code + ')';
    if (!legend.lithology.empty()) text += ", " + legend.lithology;
    text += (u.without_draft ? ": on the first map over " : ": drafted over ") + ground(u.area_m2) + ". ";
    if (u.without_draft) {
        text += u.stops == 0 ? "No stop stands on it." : counted(u.stops, "stop stands", "stops stand") + " on it.";
    } else if (u.stops == 0) {
        text += "No stop stands on it.";
    } else {
        text += counted(u.stops, "stop stands", "stops stand") + " on it, of which " + std::to_string(u.stops_agree) +
                (u.stops_agree == 1 ? " agrees" : " agree") + " with the draft and " + std::to_string(u.stops_conflict) +
                (u.stops_conflict == 1 ? " conflicts." : " conflict.");
    }
    text += u.stops_rock_seen == 0 ? " Its rock was seen nowhere." : " Its rock was seen at " + counted(u.stops_rock_seen, "stop", "stops") + '.';
    text += soil_words(u) + reaction_words(u.reaction);
    if (const std::string profile = u.profile.text(); !profile.empty()) text += " Commonest profile: " + profile + '.';
    text += depth_words("rock, weathered or not,", u.rock);
    if (u.weathered_rock.reached > 0) text += depth_words("weathered rock", u.weathered_rock);
    if (!u.plants.empty()) text += " Plants that indicate it: " + u.plants + '.';
    if (!u.parent_materials.values.empty()) text += " Parent material: " + u.parent_materials.text() + '.';
    const Confusion& m = u.mistaken;
    if (m.unit != model::no_unit) {
        text += " The soil alone took it for " + survey.units[static_cast<std::size_t>(m.unit)].code + " at " + std::to_string(m.taken) +
                " of " + counted(m.known, "known stop", "known stops");
        if (!m.channel.empty())
            text += "; the two are told apart best by " + m.channel + " (" + decimal(m.channel_factor, "%.1f") + " to 1 at an average stop)";
        text += '.';
    } else if (m.known >= 5) {
        text += " The soil alone named it at all of " + counted(m.known, "known stop", "known stops") + '.';
    }
    return text + contact_words(u.contacts);
}

}  // namespace subcrop::infer
