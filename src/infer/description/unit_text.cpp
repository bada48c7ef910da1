// A unit in words. Each clause gives its count of stops. What was not noted is not mentioned.
#include <cctype>
#include <cmath>
#include <cstdio>

#include "infer/description/unit_words.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

namespace {

std::string whole(double value) { return std::to_string(std::lround(value)); }

/// Fewer stops than this are not mentioned.
constexpr double min_told = 0.5;

std::string decimal(double value, const char* format) {
    char text[32];
    std::snprintf(text, sizeof text, format, value);
    return text;
}

std::string ranged(double least, double greatest) {
    return std::lround(least) == std::lround(greatest) ? whole(least) : whole(least) + " to " + whole(greatest);
}

/// "clay loam" of "CL".
std::string class_words(const std::string& code) {
    const auto reading = field::parse_texture(code);
    return reading.value ? std::string(field::name(reading.value->texture_class)) : code;
}

/// "a, b and c".
std::string listed(const std::vector<std::string>& parts) {
    std::string text;
    for (std::size_t i = 0; i < parts.size(); ++i)
        text += (i == 0 ? "" : i + 1 == parts.size() ? " and " : ", ") + parts[i];
    return text;
}

bool is_whole(double count) { return std::abs(count - std::round(count)) < 0.005; }

std::string capital(std::string words) {
    words[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(words[0])));
    return words;
}

/// Of a median: " (90 % interval 60 to 95 cm)"; without an upper limit if too few holes went deep enough.
std::string interval_words(const DepthSummary& depth) {
    if (!depth.low_cm) return {};
    return " (90 % interval " + (depth.high_cm ? whole(*depth.low_cm) + " to " + whole(*depth.high_cm) + " cm)"
                                               : "from " + whole(*depth.low_cm) + " cm, without an upper limit)");
}

std::string depth_words(const std::string& what, const DepthSummary& depth) {
    if (!depth.min_cm) {
        return depth.deeper < 0.5 ? "" : " None of " + about(depth.deeper, "hole", "holes") + " reached " + what + '.';
    }
    std::string text = (depth.reached == 1 ? " One hole" : ' ' + capital(about(depth.reached, "hole", "holes"))) +
                       " reached " + what + " at " + ranged(*depth.min_cm, *depth.max_cm) + " cm";
    if (depth.deeper >= min_told) text += "; " + about(depth.deeper) + " ended above it";
    if (depth.median_cm)
        text += "; median " + whole(*depth.median_cm) + " cm" + interval_words(depth) +
                (depth.deeper >= min_told ? ", those counted as deeper" : "");
    else if (depth.reached > 1)
        text += ", too many for a median";
    return text + '.';
}

/// Names rock once if all holes reached the same kind.
std::string all_depth_words(const UnitSummary& u) {
    if (u.weathered_rock == u.rock && u.rock.min_cm)
        return depth_words("weathered rock", u.rock) + depth_words("fresh rock", u.fresh_rock);
    return depth_words("rock, weathered or not,", u.rock) +
           (u.weathered_rock.min_cm ? depth_words("weathered rock", u.weathered_rock) : "");
}

std::string soil_words(const UnitSummary& u) {
    std::string text;
    const auto add = [&](const char* before, const std::string& words) {
        if (!words.empty()) text += ' ' + std::string(before) + words + '.';
    };
    add("Moist subsoil: ", colour_words(u.moist));
    add("Dry subsoil: ", colour_words(u.dry));
    add("Subsoil texture: ", texture_words(u.texture));
    add("Subsoil fragments: ", fragment_words(u.fragments));
    add("Their kind: ", fragment_kind_words(u.fragments));
    return text;
}

}  // namespace

std::string percent_words(double part, double of) {
    const double share = of > 0 ? 100 * part / of : 0;
    return share > 0 && share < 0.5 ? "under 1 %" : whole(share) + " %";
}

std::string area_words(double area_m2) {
    const double hectares = area_m2 / 1e4;
    return hectares < 10    ? decimal(hectares, "%.1f") + " ha"
           : hectares < 1e4 ? whole(hectares) + " ha"
                            : decimal(hectares / 100, "%.0f") + " km2";
}

std::string length_words(double metres) {
    return metres < 950 ? whole(metres) + " m" : decimal(metres / 1000, "%.1f") + " km";
}

std::string part_of(double part, double total, const char* one, const char* several) {
    const bool counts = is_whole(part) && is_whole(total);
    return (counts ? whole(part) : percent_words(part, total)) + " of " + about(total, one, several);
}

std::string colour_words(const ColourSummary& c) {
    if (c.chip.empty()) return {};
    double own = 0;
    for (const Counted& chip : c.chips.values)
        if (chip.name == c.chip) own = chip.count;
    const bool counts = is_whole(own) && is_whole(c.chips.total());
    return c.chip + " (the middle of " + about(c.chips.total(), "colour", "colours") + ", " +
           (counts ? whole(own) : percent_words(own, c.chips.total())) + " of them this chip)";
}

std::string texture_words(const TextureSummary& texture) {
    if (texture.classes.values.empty()) return {};
    const Counted& commonest = texture.classes.values.front();
    return class_words(commonest.name) + " in " +
           part_of(commonest.count, texture.classes.total(), "horizon", "horizons");
}

std::string fragment_words(const FragmentSummary& f) {
    if (!f.median_pct) return {};
    return whole(*f.median_pct) + " % by volume (" +
           (f.horizons == 1 ? std::string("one horizon)")
                            : "median of " + about(f.horizons, "horizon", "horizons") + ", range " +
                                  ranged(*f.min_pct, *f.max_pct) + " %)");
}

std::string fragment_kind_words(const FragmentSummary& f) {
    if (f.kinds.values.empty()) return {};
    const Counted& commonest = f.kinds.values.front();
    return (commonest.name == "mixed" ? std::string("mixed kinds") : commonest.name) + " in " +
           part_of(commonest.count, f.kinds.total(), "horizon with a noted kind", "horizons with a noted kind");
}

std::string reaction_words(const Tally& reaction) {
    const double total = reaction.total();
    if (total < min_told) return {};
    double none = 0;
    std::string classes;
    for (const field::EffervescenceClass& c : field::effervescence_classes()) {
        for (const Counted& value : reaction.values) {
            if (value.name != c.code) continue;
            if (c.code == "NE")
                none = value.count;
            else if (200 * value.count >= total)
                classes +=
                    (classes.empty() ? "" : ", ") + std::string(c.meaning.substr(0, c.meaning.find(':'))) + ' ' +
                    (is_whole(value.count) && is_whole(total) ? whole(value.count) : percent_words(value.count, total));
        }
    }
    return "It reacted to acid at " + part_of(total - none, total, "stop", "stops") +
           (classes.empty() ? "" : " (" + classes + ")") + '.';
}

std::string share_words(const Tally& tally, const char* one, const char* several, std::size_t most) {
    std::string result;
    const double all = tally.total();
    for (std::size_t i = 0; i < std::min(most, tally.values.size()); ++i) {
        const Counted& value = tally.values[i];
        if (i > 0 && 200 * value.count < all) break;
        const std::string n = *one == 0 ? about(all) : about(all, one, several);
        result += (i > 0 ? ", " : "") + value.name + " (" + percent_words(value.count, all) +
                  (i == 0 ? " of " + n : "") + ')';
    }
    return result;
}

std::string contact_words(const ContactsKnown& known) {
    if (known.contacts == 0) return {};
    std::vector<std::string> classes;
    for (const auto location :
         {LocationClass::accurate, LocationClass::approximate, LocationClass::inferred, LocationClass::concealed}) {
        const double length = known.length_of_class_m[static_cast<std::size_t>(location)];
        if (length > 0)
            classes.push_back(percent_words(length, known.length_m) + ' ' + std::string(to_string(location)));
    }
    const bool only = known.contacts == 1;
    const std::string length = length_words(known.length_m);
    std::string text;
    if (classes.size() == 1)  // "100 % inferred"
        text = (only ? "Its only contact (" + length + ") is "
                     : "All of its " + counted(known.contacts, "", "contacts") + " (" + length + ") are ") +
               classes[0].substr(classes[0].find("% ") + 2);
    else
        text = (only ? "Its only contact runs for " : "Its " + counted(known.contacts, "", "contacts") + " run for ") +
               length + ": " + listed(classes);
    std::vector<std::string> reviews;
    const auto say = [&](std::size_t n, const char* one, const char* several) {
        if (n == 0) return;
        const std::string before = only                  ? ""
                                   : n == known.contacts ? "All of them "
                                   : reviews.empty()     ? std::to_string(n) + " of them "
                                                         : std::to_string(n) + ' ';
        reviews.push_back(before + (n == 1 ? one : several));
    };
    say(known.elsewhere, "is at least partly misplaced", "are at least partly misplaced");
    say(known.doubtful, "is in doubt", "are in doubt");
    say(known.untested, "has too few stops nearby to test", "have too few stops nearby to test");
    if (reviews.empty()) return text + '.';
    return text + ". " + (only ? "It " : "") + listed(reviews) + '.';
}

std::string evidence_words(const UnitSummary& u) {
    std::string words;
    for (const auto& [name, said] : u.evidence) words += (words.empty() ? "" : "; ") + name + ' ' + said;
    return words;
}

std::string described_words(const UnitSummary& u) {
    if (u.described_stops <= 0) return {};
    return "Described from " + about(u.described_stops, "stop", "stops") +
           (u.described_by == DescribedBy::draft ? " as drawn." : ", each counted by its probability of lying on it.");
}

std::string about(double count) {
    const double nearest = std::round(count);
    if (std::abs(count - nearest) < 0.005) return whole(count);
    return nearest < 1 ? "under 1" : "about " + whole(count);
}

std::string about(double count, const char* one, const char* several) {
    return about(count) + ' ' + (std::round(count) == 1 || (count > 0 && count < 0.5) ? one : several);
}

double Tally::total() const {
    double sum = 0;
    for (const Counted& value : values) sum += value.count;
    return sum;
}

std::string Tally::text(std::size_t most) const { return share_words(*this, "", "", most); }

std::string SetTally::text(std::size_t most) const {
    std::string result;
    for (std::size_t i = 0; i < std::min(most, values.size()) && (i == 0 || 200 * values[i].count >= stops); ++i) {
        result += (i > 0 ? ", " : "") + values[i].name + " (" + percent_words(values[i].count, stops) +
                  (i == 0 ? " of " + about(stops, "stop", "stops") : "") + ')';
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
                  (horizon.bottom_cm ? ' ' + whole(*horizon.top_cm) + " to " + whole(*horizon.bottom_cm)
                                     : " from " + whole(*horizon.top_cm)) +
                  " cm";
    }
    return names + " (" + part_of(stops, described, "profile", "profiles") + ')' +
           (depths.empty() ? "" : (stops > 1 ? ", median depths: " : ": ") + depths);
}

std::string unit_description(const model::Survey& survey, const UnitSummary& u) {
    const model::LegendUnit& legend = survey.units[static_cast<std::size_t>(u.unit)];
    std::string text = legend.name.empty() ? legend.code : legend.name + " (" + legend.code + ')';
    if (!legend.lithology.empty()) text += ", " + legend.lithology;
    text += (u.without_draft ? ": on the first map over " : ": drawn over ") + area_words(u.area_m2) + ". ";
    if (u.without_draft) {
        text += u.stops == 0 ? "No stop stands on it." : counted(u.stops, "stop stands", "stops stand") + " on it.";
    } else if (u.stops == 0) {
        text += "No stop stands on it.";
    } else {
        text += counted(u.stops, "stop stands", "stops stand") + " on it: " + std::to_string(u.stops_agree) +
                (u.stops_agree == 1 ? " agrees" : " agree") + " with the draft, " + std::to_string(u.stops_conflict) +
                (u.stops_conflict == 1 ? " conflicts." : " conflict.");
    }
    text += u.stops_rock_seen == 0
                ? " Its bedrock was not observed."
                : " Its bedrock was observed at " + counted(u.stops_rock_seen, "stop", "stops") + '.';
    const auto say = [&](const std::string& sentence) {
        if (!sentence.empty()) text += ' ' + sentence;
    };
    say(described_words(u));
    text += soil_words(u);
    say(reaction_words(u.reaction));
    if (const std::string profile = u.profile.text(); !profile.empty()) text += " Commonest profile: " + profile + '.';
    text += all_depth_words(u);
    if (!u.minerals.values.empty()) text += " Minerals: " + u.minerals.text() + '.';
    if (!u.landforms.values.empty()) text += " Landform: " + u.landforms.text() + '.';
    if (const std::string evidence = evidence_words(u); !evidence.empty()) text += " Besides: " + evidence + '.';
    if (!u.plants.empty()) text += " Plants that indicate it: " + u.plants + '.';
    if (!u.parent_materials.values.empty()) text += " Parent material: " + u.parent_materials.text() + '.';
    const Confusion& m = u.mistaken;
    if (m.unit != model::no_unit) {
        text += " The soil alone took it for " + survey.units[static_cast<std::size_t>(m.unit)].code + " at " +
                std::to_string(m.taken) + " of " + counted(m.known, "known stop", "known stops");
        if (!m.channel.empty())
            text += "; what distinguishes the two best is " + m.channel + " (" + decimal(m.channel_factor, "%.1f") +
                    " to 1 at an average stop)";
        text += '.';
    } else if (m.known >= 5) {
        text += " The soil alone named it at all of " + counted(m.known, "known stop", "known stops") + '.';
    }
    say(contact_words(u.contacts));
    return text;
}

}  // namespace subcrop::infer
