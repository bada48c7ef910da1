#include "subcrop/field/redox.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <optional>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

bool is_any(std::string_view word, std::initializer_list<std::string_view> list) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

RedoxAbundance abundance_of_pct(double pct) {
    if (pct <= 0) return RedoxAbundance::none;
    if (pct < 2) return RedoxAbundance::few;
    return pct < 20 ? RedoxAbundance::common : RedoxAbundance::many;
}

/// "7.5YR 5/6": a word of hue with the one after it, or both in one.
std::optional<Munsell> colour_at(const std::vector<std::string>& written, std::size_t i) {
    if (!is_digit(written[i].front()) && written[i].front() != 'N' && written[i].front() != 'n') return std::nullopt;
    const bool stroke_here = written[i].find('/') != std::string::npos;
    const bool stroke_next = i + 1 < written.size() && written[i + 1].find('/') != std::string::npos;
    if (!stroke_here && !stroke_next) return std::nullopt;
    const auto parsed = parse_munsell(stroke_here ? written[i] : written[i] + ' ' + written[i + 1]);
    if (!parsed || parsed.value->chips.empty()) return std::nullopt;
    return parsed.value->chips.front();
}

}  // namespace

std::string_view to_string(RedoxAbundance abundance) {
    constexpr std::array<std::string_view, redox_abundance_count> names{"none", "few", "common", "many", "gleyed"};
    return names[static_cast<std::size_t>(abundance)];
}

std::string_view description(RedoxAbundance abundance) {
    constexpr std::array<std::string_view, redox_abundance_count> texts{
        "looked for and not found", "below 2 % of the area", "2 to 20 % of the area", "20 % of the area or more",
        "the whole matrix is grey, greenish or bluish from wetness"};
    return texts[static_cast<std::size_t>(abundance)];
}

Parsed<RedoxReading> read_redox(std::string_view text) {
    const std::vector<std::string> written = words(plain_marks(text), ",;()");
    RedoxReading reading;
    std::optional<RedoxAbundance> abundance;
    bool named = false;
    for (std::size_t i = 0; i < written.size(); ++i) {
        const std::string word = lower(written[i]);
        const std::string next = i + 1 < written.size() ? lower(written[i + 1]) : std::string();
        if (const auto colour = colour_at(written, i)) {
            reading.colours.push_back(*colour);
            named = true;
        } else if (is_digit(word.front()) && (word.ends_with('%') || next == "%" || next == "percent")) {
            abundance = abundance_of_pct(std::strtod(word.c_str(), nullptr));
        } else if (is_any(word, {"none", "no", "nil", "absent"})) {
            abundance = RedoxAbundance::none;
        } else if (is_any(word, {"few", "f", "rare", "slight", "traces"})) {
            abundance = RedoxAbundance::few;
        } else if (is_any(word, {"common", "c", "some"})) {
            abundance = RedoxAbundance::common;
        } else if (is_any(word, {"many", "m", "abundant"})) {
            abundance = RedoxAbundance::many;
        } else if (is_any(word, {"gley", "gleyed", "reduced"})) {
            abundance = RedoxAbundance::gleyed;
        } else if (is_any(word, {"concentrations", "concentration", "masses", "nodules", "concretions", "rust", "rusty",
                                 "iron", "manganese", "fe", "mn", "orange", "red", "brown", "black"})) {
            reading.concentrations = named = true;
        } else if (is_any(word, {"depletions", "depletion", "grey", "gray", "bleached"})) {
            reading.depletions = named = true;
        } else if (is_any(word, {"mottles", "mottled", "mottling", "mottle", "faint", "distinct", "prominent"})) {
            named = true;
        }
    }
    if (abundance) {
        reading.abundance = *abundance;
        return {reading, {}, {}};
    }
    if (named)
        return {reading, "the amount of '" + std::string(trimmed(text)) + "' is not said; it is taken as few",
                "Write few, common or many."};
    return {std::nullopt, "'" + std::string(trimmed(text)) + "' names no redoximorphic feature",
            "Write none, few, common, many or gleyed, then kind and colour of the mottles."};
}

}  // namespace subcrop::field
