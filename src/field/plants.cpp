#include "subcrop/field/plants.hpp"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <utility>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

// 'common' stays unless it ends the entry: common reed is a plant, 'reed, common' an amount.
constexpr std::string_view quantity_words[] = {
    "some",       "few",          "many",     "much",   "several",  "lots",       "plenty",     "abundant",
    "occasional", "occasionally", "frequent", "rare",   "dominant", "dominating", "codominant", "sparse",
    "scattered",  "scarce",       "dense",    "patchy", "patches",  "local",      "locally",    "mostly",
    "mainly",     "single",       "isolated", "cover",  "percent",  "pct",        "about",      "approx",
    "ca",         "cf",           "aff",      "sp",     "spp",      "ssp",        "indet",      "the",
    "an",         "of",           "also",     "very",   "la",       "lf",         "ld",         "lo"};

constexpr std::string_view no_plants[] = {
    "none",          "none seen",           "nil",         "no plants",     "no plant",      "no plants seen",
    "no vegetation", "no vegetation cover", "no cover",    "bare",          "bare soil",     "bare ground",
    "bare earth",    "bare rock",           "unvegetated", "nothing grows", "without plants"};

constexpr std::string_view no_note[] = {"n/a",     "na",        "n.a.",     "not recorded",
                                        "unknown", "not noted", "not seen", "no data"};

template <class List>
bool is_in(std::string_view word, const List& list) {
    return std::find(std::begin(list), std::end(list), word) != std::end(list);
}

/// ASCII and the accented capitals of Latin-1 in UTF-8.
std::string small_letters(std::string_view text) {
    std::string result = lower(text);
    for (std::size_t i = 0; i + 1 < result.size(); ++i) {
        const auto lead = static_cast<unsigned char>(result[i]);
        const auto next = static_cast<unsigned char>(result[i + 1]);
        if (lead == 0xc3 && next >= 0x80 && next <= 0x9e && next != 0x97)
            result[i + 1] = static_cast<char>(next + 0x20);
    }
    return result;
}

std::string without_brackets(std::string_view text) {
    std::string result;
    int depth = 0;
    for (const char c : text) {
        if (c == '(' || c == '[') {
            ++depth;
            result += ' ';
        } else if (c == ')' || c == ']') {
            depth = std::max(0, depth - 1);
        } else if (depth == 0) {
            result += c;
        }
    }
    return result;
}

/// "20", "20%", "<5", "10-20", "2a": amounts, not names.
bool is_amount(std::string_view word) {
    if (word.size() == 1 && static_cast<unsigned char>(word[0]) < 0x80) return true;
    const bool digits = std::any_of(word.begin(), word.end(), is_digit);
    std::size_t letters = 0;
    for (const char c : word) {
        if (is_letter(c))
            ++letters;
        else if (!is_digit(c) && std::string_view("%<>~.-=").find(c) == std::string_view::npos)
            return false;
    }
    return letters == 0 || (digits && letters == 1);
}

/// One entry of the list, without its amounts; empty if nothing is left.
std::string taxon(std::string_view entry) {
    std::vector<std::string> kept;
    bool after_a = false;  // 'a little heather' is an amount, 'little mouse ear' a plant
    for (std::string& word : words(entry, ":\"!?*")) {
        while (word.ends_with('.')) word.pop_back();
        const bool amount_after_a =
            std::exchange(after_a, word == "a") && (word == "little" || word == "lot" || word == "bit");
        if (amount_after_a) continue;
        if (word.empty() || is_amount(word) || is_in(word, quantity_words)) continue;
        kept.push_back(std::move(word));
    }
    if (!kept.empty() && kept.back() == "common") kept.pop_back();
    std::string name;
    for (const std::string& word : kept) name += (name.empty() ? "" : " ") + word;
    return name;
}

}  // namespace

PlantReading read_plants(std::string_view notes) {
    PlantReading reading;
    std::string lines(notes);
    std::replace(lines.begin(), lines.end(), '\n', ',');
    const std::string plain_notes = plain_marks(lines);
    std::string open = without_brackets(plain_notes);
    if (trimmed(open).empty()) {  // the whole note is in brackets
        open = plain_notes;
        std::erase_if(open, [](char c) { return std::string_view("()[]").find(c) != std::string_view::npos; });
    }
    const std::string text = small_letters(open);
    // A note of the whole field, before "n/a" is cut at its stroke.
    if (is_in(single_spaced(text), no_note)) return reading;

    bool none = false;
    std::string entry;
    const auto finish = [&] {
        const std::string plain = single_spaced(std::exchange(entry, {}));
        std::string_view whole = plain;
        while (whole.ends_with('.')) whole.remove_suffix(1);
        if (whole.empty() || is_in(whole, no_note)) return;
        if (is_in(whole, no_plants)) {
            none = true;
            return;
        }
        // A plant looked for and not found is no plant seen.
        if (whole.starts_with("no ") || whole.starts_with("without ") || whole.starts_with("not ")) return;
        if (std::string name = taxon(whole); !name.empty()) reading.taxa.push_back(std::move(name));
    };
    std::string spaced;
    const auto of_name = [](char c) { return is_letter(c) || static_cast<unsigned char>(c) >= 0x80; };
    for (std::size_t i = 0; i < text.size(); ++i) {
        // A hyphen within a name is a matter of taste: bog-myrtle is bog myrtle.
        const bool hyphen =
            text[i] == '-' && i > 0 && i + 1 < text.size() && of_name(text[i - 1]) && of_name(text[i + 1]);
        if (std::string_view(",;+&/|").find(text[i]) != std::string_view::npos)
            spaced += " , ";
        else
            spaced += hyphen ? ' ' : text[i];
    }
    for (const std::string& word : words(spaced)) {
        if (word == "," || word == "and" || word == "with")
            finish();
        else
            entry += word + " ";
    }
    finish();

    std::sort(reading.taxa.begin(), reading.taxa.end());
    reading.taxa.erase(std::unique(reading.taxa.begin(), reading.taxa.end()), reading.taxa.end());
    reading.none_seen = none && reading.taxa.empty();
    return reading;
}

std::string PlantNames::add(std::string_view written, std::string_view taxon) {
    const std::vector<std::string> from = read_plants(written).taxa;
    const std::vector<std::string> to = read_plants(taxon).taxa;
    if (from.size() != 1) return from.empty() ? "no plant is written" : "more than one plant is written";
    if (to.size() > 1) return "more than one taxon is written";
    const std::string meant = to.empty() ? std::string() : to.front();
    const auto [row, fresh] = taxon_of_.try_emplace(from.front(), meant);
    if (!fresh && row->second != meant)
        return "'" + from.front() + "' stands in the list already as " +
               (row->second.empty() ? "no plant" : "'" + row->second + "'");
    return {};
}

PlantReading PlantNames::settle(PlantReading reading) const {
    if (taxon_of_.empty()) return reading;
    std::vector<std::string> taxa;
    for (std::string& name : reading.taxa) {
        const auto row = taxon_of_.find(name);
        if (row == taxon_of_.end())
            taxa.push_back(std::move(name));
        else if (!row->second.empty())
            taxa.push_back(row->second);
    }
    std::sort(taxa.begin(), taxa.end());
    taxa.erase(std::unique(taxa.begin(), taxa.end()), taxa.end());
    reading.taxa = std::move(taxa);
    return reading;
}

}  // namespace subcrop::field
