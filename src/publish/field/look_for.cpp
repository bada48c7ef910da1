#include "publish/field/look_for.hpp"

#include <utility>
#include <vector>

#include "subcrop/field/texture.hpp"

namespace subcrop::publish {

namespace {

std::string texture_words(const infer::UnitSummary& unit) {
    if (unit.texture.classes.values.empty()) return {};
    const std::string& code = unit.texture.classes.values.front().name;
    const auto reading = field::parse_texture(code);
    return reading.value ? std::string(field::name(reading.value->texture_class)) : code;
}

std::string colour_words(const infer::UnitSummary& unit) {
    const auto reading = field::parse_munsell(unit.moist.chip.empty() ? unit.dry.chip : unit.moist.chip);
    if (!reading) return {};
    return plain_colour(reading.value->chips.front()) + (unit.moist.chip.empty() ? " when dry" : "");
}

std::string fragment_words(const infer::UnitSummary& unit) {
    if (unit.fragments.kinds.values.empty()) return {};
    const std::string& kind = unit.fragments.kinds.values.front().name;
    return kind == "mixed" ? "mixed stones" : "stones of " + kind;
}

std::string reaction_words(const infer::UnitSummary& unit) {
    if (unit.reaction.values.empty()) return {};
    return unit.reaction.values.front().name == "NE" ? "does not fizz with acid" : "fizzes with acid";
}

/// The taxon that indicates it best.
std::string plant_words(const infer::UnitSummary& unit) { return unit.plants.substr(0, unit.plants.find(" (")); }

}  // namespace

std::string plain_colour(const field::Munsell& c) {
    const auto shade = [&](std::string word) { return (c.value <= 3 ? "dark " : c.value >= 7 ? "light " : "") + word; };
    if (c.value <= 2.5 && c.chroma <= 1.5) return "black";
    if (c.chroma <= 1.5) return c.value >= 8 ? "white" : shade("grey");
    const double hue = c.hue == 0 ? 100 : c.hue;
    if (hue > 30 && hue <= 60) return shade("greenish grey");
    if (hue > 60 && hue <= 85) return shade("bluish grey");
    if (hue > 85 || hue <= 10) return shade(c.chroma >= 4 ? "red" : "reddish grey");
    if (hue <= 15) return shade(c.chroma >= 6 ? "red" : "reddish brown");
    if (hue <= 20)
        return c.chroma >= 6 && c.value >= 5 ? shade(hue > 18.75 ? "yellow-brown" : "orange")
               : c.chroma <= 2               ? shade("greyish brown")
                                             : shade("brown");
    return c.chroma >= 6 ? shade("yellow") : c.value >= 6 ? shade("pale yellow") : shade("olive");
}

std::string look_for(const model::Survey& survey, const infer::UnitSummary& a, const infer::UnitSummary& b) {
    std::vector<std::pair<std::string, std::string>> both = {{texture_words(a), texture_words(b)},
                                                             {colour_words(a), colour_words(b)},
                                                             {fragment_words(a), fragment_words(b)},
                                                             {reaction_words(a), reaction_words(b)},
                                                             {plant_words(a), plant_words(b)}};
    std::string of_a, of_b;
    const auto add = [](std::string& to, const std::string& word) {
        if (!word.empty()) to += (to.empty() ? "" : ", ") + word;
    };
    for (const auto& [in_a, in_b] : both) {
        if (in_a == in_b) continue;
        add(of_a, in_a);
        add(of_b, in_b);
    }
    std::string text;
    const auto say = [&](const std::string& words, model::UnitIndex unit) {
        if (!words.empty())
            text += (text.empty() ? "" : "; ") + words + ": " + survey.units[static_cast<std::size_t>(unit)].code;
    };
    say(of_a, a.unit);
    say(of_b, b.unit);
    return text;
}

}  // namespace subcrop::publish
