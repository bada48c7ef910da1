#include "io/text_values.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>

#include "io/nearest_name.hpp"

namespace subcrop::io {

namespace {

constexpr std::string_view no_break_space = "\xC2\xA0";
constexpr std::string_view en_dash = "\xE2\x80\x93";
constexpr std::string_view em_dash = "\xE2\x80\x94";
constexpr std::string_view figure_dash = "\xE2\x80\x92";
constexpr std::string_view hyphen = "\xE2\x80\x90";
constexpr std::string_view minus_sign = "\xE2\x88\x92";
constexpr std::string_view plus_minus = "\xC2\xB1";
constexpr std::string_view degree_sign = "\xC2\xB0";

bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\v' || c == '\f'; }

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string replaced(const std::string& text, std::string_view from, std::string_view to) {
    std::string result;
    std::size_t begin = 0;
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, begin)) {
        result.append(text, begin, at - begin).append(to);
        begin = at + from.size();
    }
    return result.append(text, begin);
}

/// One plain number at the start of `text`; takes it off. A comma or a point is the decimal mark.
std::optional<double> take_number(std::string_view& text, bool& thousands_doubt) {
    std::string digits;
    std::size_t i = 0;
    if (i < text.size() && (text[i] == '+' || text[i] == '-')) {
        if (text[i] == '-') digits += '-';
        ++i;
    }
    std::size_t whole = 0, fraction = 0;
    while (i < text.size() && is_digit(text[i])) {
        digits += text[i++];
        ++whole;
    }
    if (i < text.size() && (text[i] == '.' || text[i] == ',')) {
        const bool comma = text[i] == ',';
        std::size_t j = i + 1;
        while (j < text.size() && is_digit(text[j])) ++j;
        fraction = j - i - 1;
        if (fraction > 0 || (whole > 0 && !comma)) {
            digits += '.';
            digits += text.substr(i + 1, fraction);
            if (fraction == 0) digits += '0';
            if (comma && fraction == 3 && whole >= 1 && whole <= 3 && digits[digits[0] == '-' ? 1 : 0] != '0') {
                thousands_doubt = true;
            }
            i = j;
        }
    }
    if (whole + fraction == 0) return std::nullopt;
    if (i + 1 < text.size() && (text[i] == 'e' || text[i] == 'E')) {
        std::size_t j = i + 1;
        if (text[j] == '+' || text[j] == '-') ++j;
        if (j < text.size() && is_digit(text[j])) {
            digits += 'e';
            if (text[i + 1] == '-') digits += '-';
            while (j < text.size() && is_digit(text[j])) digits += text[j++];
            i = j;
        }
    }
    double value = 0;
    const auto [end, failure] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    if (failure != std::errc() || end != digits.data() + digits.size() || !std::isfinite(value)) return std::nullopt;
    text.remove_prefix(i);
    text = trimmed(text);
    return value;
}

/// A unit, its centimetres if it is a length, and how people write it.
struct UnitWords {
    Unit unit;
    double cm;
    std::string_view short_name, name;
    std::array<std::string_view, 7> words;
};
constexpr std::array<UnitWords, 9> unit_table = {{
    {Unit::percent, 0, "%", "percent", {"%", "pct", "percent", "per cent", "perc", "prozent"}},
    {Unit::degrees, 0, "degrees", "degrees", {"deg", "degrees", "degree", degree_sign}},
    {Unit::millimetres, 0.1, "mm", "millimetres", {"mm", "millimetres", "millimetre", "millimeters", "millimeter"}},
    {Unit::centimetres,
     1,
     "cm",
     "centimetres",
     {"cm", "cms", "centimetres", "centimetre", "centimeters", "centimeter"}},
    {Unit::decimetres, 10, "dm", "decimetres", {"dm", "decimetres", "decimetre", "decimeters", "decimeter"}},
    {Unit::metres, 100, "m", "metres", {"m", "metres", "metre", "meters", "meter"}},
    {Unit::inches, 2.54, "in", "inches", {"in", "in.", "inch", "inches", "\"", "\u2033", "''"}},
    {Unit::feet, 30.48, "ft", "feet", {"ft", "ft.", "foot", "feet", "'", "\u2032"}},
    {Unit::us_survey_feet,
     120000.0 / 3937.0,
     "us-ft",
     "US survey feet",
     {"us-ft", "us_ft", "ftus", "us survey feet", "us survey foot"}},
}};

const UnitWords* entry_of(Unit unit) {
    for (const UnitWords& entry : unit_table)
        if (entry.unit == unit) return &entry;
    return nullptr;
}

/// 0: no length.
double centimetres_of(Unit unit) {
    const UnitWords* entry = entry_of(unit);
    return entry != nullptr ? entry->cm : 0;
}

Parsed<double> not_a_number(Unit unit) {
    return {.value = std::nullopt,
            .message = "this is not a number" + (unit == Unit::none ? "" : " of " + std::string(name_of(unit))),
            .remedy = "Write digits only, or leave the cell empty."};
}

/// "1'6\"" after its first number, in centimetres.
std::optional<double> feet_and_inches(double first, std::string_view rest) {
    for (const std::string_view mark : {std::string_view("'"), std::string_view("\u2032"), std::string_view("ft")}) {
        if (!lower(rest).starts_with(mark)) continue;
        rest = trimmed(rest.substr(mark.size()));
        bool doubt = false;
        const auto inches = take_number(rest, doubt);
        if (!inches || *inches < 0 || *inches >= 12 || (!rest.empty() && unit_named(rest) != Unit::inches)) break;
        return first * 30.48 + *inches * 2.54;
    }
    return std::nullopt;
}

}  // namespace

Unit unit_named(std::string_view word) {
    if (word.empty()) return Unit::none;
    const std::string small = lower(word);
    for (const UnitWords& entry : unit_table)
        if (std::find(entry.words.begin(), entry.words.end(), small) != entry.words.end()) return entry.unit;
    return Unit::none;
}

std::string_view short_name(Unit unit) {
    const UnitWords* entry = entry_of(unit);
    return entry != nullptr ? entry->short_name : std::string_view();
}

std::string_view name_of(Unit unit) {
    const UnitWords* entry = entry_of(unit);
    return entry != nullptr ? entry->name : std::string_view();
}

bool convertible(Unit from, Unit to) {
    return from == to || (centimetres_of(from) > 0 && centimetres_of(to) > 0) ||
           (from == Unit::percent && to == Unit::degrees);
}

double converted(double value, Unit from, Unit to) {
    if (from == to) return value;
    value = from == Unit::percent ? std::atan(value / 100) * 180 / std::numbers::pi
                                  : value * centimetres_of(from) / centimetres_of(to);
    return std::round(value * 1e6) / 1e6;
}

NameWithUnit split_unit(std::string_view column) {
    std::string name = lower(trimmed(column));
    std::string_view rest = name;
    if (rest.ends_with(')') || rest.ends_with(']')) {
        const auto open = rest.find_last_of("([");
        if (open == std::string_view::npos) return {name, Unit::none};
        const Unit unit = unit_named(trimmed(rest.substr(open + 1, rest.size() - open - 2)));
        if (unit == Unit::none) return {name, Unit::none};
        rest = rest.substr(0, open);
        while (!rest.empty() && (rest.back() == ' ' || rest.back() == '_')) rest.remove_suffix(1);
        return {std::string(rest), unit};
    }
    const auto mark = rest.find_last_of(" _-/,.");
    if (mark == std::string_view::npos || mark == 0) return {name, Unit::none};
    const Unit unit = unit_named(rest.substr(mark + 1));
    if (unit == Unit::none) return {name, Unit::none};
    rest = rest.substr(0, mark);
    while (!rest.empty() && (rest.back() == ' ' || rest.back() == '_' || rest.back() == ',')) rest.remove_suffix(1);
    if (rest.ends_with(" in") && unit != Unit::none) rest.remove_suffix(3);  // "depth in cm"
    return {std::string(rest), unit};
}

bool is_all_dashes(std::string_view text) {
    constexpr std::size_t longest = 9;
    if (text.size() > longest) return false;
    while (!text.empty()) {
        std::size_t size = 0;
        for (const std::string_view dash : {std::string_view("-"), en_dash, em_dash, minus_sign, figure_dash, hyphen})
            if (text.starts_with(dash)) size = dash.size();
        if (size == 0) return false;
        text.remove_prefix(size);
    }
    return true;
}

bool is_word_for_no_value(std::string_view text) {
    switch (text.front()) {
        case '?':
        case '.':
            return text.find_first_not_of(text.front()) == std::string_view::npos;
        case 'n':
        case 'N':  // but "NE", which half of all horizons may have
            if (text.size() < 2 || std::string_view("/.aAdDuU").find(text[1]) == std::string_view::npos) return false;
            break;
        case '#':
        case '<':
        case 'k':
        case 'K':
            break;
        default:
            return false;
    }
    const std::string word = lower(text);
    for (const char* known : {"n/a", "na", "n.a.", "n.a", "nd", "n/d", "n.d.", "n.d", "nan", "null", "<null>", "#n/a",
                              "#nv", "k.a.", "k. a.", "k.a"})
        if (word == known) return true;
    return false;
}

std::string empty_words_message(std::size_t cells) {
    return cells == 1 ? std::string("this is taken for an empty cell")
                      : std::to_string(cells) +
                            " cells of this column say this or the like, this one first; they are taken for empty";
}

std::string number_text(double value) {
    std::array<char, 32> buffer{};
    const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
    return {buffer.data(), end};
}

std::string_view trimmed(std::string_view text) {
    for (bool again = true; again;) {
        again = false;
        while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
        while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
        if (text.starts_with(no_break_space)) {
            text.remove_prefix(2);
            again = true;
        }
        if (text.ends_with(no_break_space)) {
            text.remove_suffix(2);
            again = true;
        }
    }
    return text;
}

bool is_utf8(std::string_view text) {
    std::size_t i = 0;
    while (i < text.size()) {
        const auto c = static_cast<unsigned char>(text[i]);
        if (c < 0x80) {
            ++i;
            continue;
        }
        std::size_t more = 0;
        std::uint32_t point = 0, least = 0;
        if ((c & 0xE0) == 0xC0) {
            more = 1, point = c & 0x1FU, least = 0x80;
        } else if ((c & 0xF0) == 0xE0) {
            more = 2, point = c & 0x0FU, least = 0x800;
        } else if ((c & 0xF8) == 0xF0) {
            more = 3, point = c & 0x07U, least = 0x10000;
        } else {
            return false;
        }
        if (i + more >= text.size()) return false;
        for (std::size_t k = 1; k <= more; ++k) {
            const auto next = static_cast<unsigned char>(text[i + k]);
            if ((next & 0xC0) != 0x80) return false;
            point = (point << 6U) | (next & 0x3FU);
        }
        if (point < least || point > 0x10FFFF || (point >= 0xD800 && point <= 0xDFFF)) return false;
        i += more + 1;
    }
    return true;
}

std::string utf8_from_latin1(std::string_view text) {
    // Windows-1252 from 0x80 to 0x9F, where ISO-8859-1 has control characters that no field book holds.
    static constexpr std::array<std::string_view, 32> windows{
        "€",        "\xC2\x81", "‚", "ƒ", "„", "…", "†", "‡", "ˆ", "‰", "Š", "‹", "Œ", "\xC2\x8D", "Ž", "\xC2\x8F",
        "\xC2\x90", "‘",        "’", "“", "”", "•", "–", "—", "˜", "™", "š", "›", "œ", "\xC2\x9D", "ž", "Ÿ"};
    std::string result;
    for (const char raw : text) {
        const auto c = static_cast<unsigned char>(raw);
        if (c < 0x80) {
            result += raw;
        } else if (c < 0xA0) {
            result += windows[c - 0x80U];
        } else {
            result += static_cast<char>(0xC0U | (c >> 6U));
            result += static_cast<char>(0x80U | (c & 0x3FU));
        }
    }
    return result;
}

Parsed<double> read_number(std::string_view text, Unit unit, double* half_range) {
    double plain = 0;
    if (const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), plain);
        failure == std::errc() && end == text.data() + text.size() && std::isfinite(plain)) {
        return {.value = plain, .message = {}, .remedy = {}};
    }
    std::string clean = replaced(replaced(std::string(text), en_dash, "-"), minus_sign, "-");
    clean = replaced(replaced(clean, no_break_space, " "), "+/-", plus_minus);
    clean = replaced(clean, "+-", plus_minus);
    std::string_view rest = clean;
    bool below = false, above = false, about = false;
    for (const std::string_view word :
         {std::string_view("ca."), std::string_view("ca "), std::string_view("c."), std::string_view("approx."),
          std::string_view("about "), std::string_view("~")}) {
        if (lower(rest).starts_with(word)) {
            rest = trimmed(rest.substr(word.size()));
            about = true;
            break;
        }
    }
    if (rest.starts_with(plus_minus)) {
        rest = trimmed(rest.substr(plus_minus.size()));
    } else if (rest.starts_with('<')) {
        rest = trimmed(rest.substr(rest.starts_with("<=") ? 2 : 1));
        below = true;
    } else if (rest.starts_with('>')) {
        rest = trimmed(rest.substr(rest.starts_with(">=") ? 2 : 1));
        above = true;
    }
    bool doubt = false;
    double half = 0;
    const auto first = take_number(rest, doubt);
    if (!first) return not_a_number(unit);
    double value = *first;
    Parsed<double> result;
    if (!below && !above && (rest.starts_with('-') || lower(rest).starts_with("to "))) {
        rest = trimmed(rest.substr(rest.starts_with('-') ? 1 : 3));
        const auto second = rest.starts_with('-') ? std::nullopt : take_number(rest, doubt);
        if (!second || *second < value) return not_a_number(unit);
        half = (*second - value) / 2;
        value = (value + *second) / 2;
        result.message = "a range, read as its mean " + number_text(value);
    } else if (below) {
        value /= 2;
        result.message = "below a limit, read as half of it: " + number_text(value);
    } else if (above) {
        result.message = "above a limit, read as the limit " + number_text(value);
    } else if (about) {
        result.message = "read as " + number_text(value);
    }
    // '50+', '50+ cm', '50 cm+': so deep at the least.
    if (!below && !above && half == 0 && (rest.starts_with('+') || rest.ends_with('+'))) {
        rest = trimmed(rest.starts_with('+') ? rest.substr(1) : rest.substr(0, rest.size() - 1));
        result.message = "above a limit, read as the limit " + number_text(value);
    }
    if (!rest.empty()) {
        const Unit written = unit_named(rest);
        const std::optional<double> in_feet = half == 0 && centimetres_of(unit) > 0 && centimetres_of(written) == 0
                                                  ? feet_and_inches(value, rest)
                                                  : std::nullopt;
        if (in_feet) {
            value = *in_feet / centimetres_of(unit);
            result.message = "feet and inches, read as " + number_text(std::round(value * 1000) / 1000) + ' ' +
                             std::string(short_name(unit));
        } else if (written == Unit::percent && unit == Unit::degrees) {
            value = converted(value, written, unit);
            result.message = "a slope in percent, read as " + number_text(std::round(value * 10) / 10) + " degrees";
        } else if (written != unit || unit == Unit::none) {
            const double from = centimetres_of(written), to = centimetres_of(unit);
            if (from <= 0 || to <= 0) return not_a_number(unit);
            value *= from / to;
            half *= from / to;
            result.message = "a length in another unit, read as " + number_text(std::round(value * 1000) / 1000) + ' ' +
                             std::string(short_name(unit));
        }
    }
    if (doubt && result.message.empty()) {
        result.message = "the comma is taken as the decimal mark, read as " + number_text(value);
    }
    result.value = value;
    if (half_range != nullptr) *half_range = half;
    return result;
}

std::optional<bool> read_yes_no(std::string_view text) {
    const std::string word = lower(trimmed(text));
    for (const char* yes : {"yes", "y", "true", "t", "1", "x", "complete", "full"}) {
        if (word == yes) return true;
    }
    for (const char* no : {"no", "n", "false", "f", "0", "-", "incomplete", "partial"}) {
        if (word == no) return false;
    }
    return std::nullopt;
}

std::vector<std::string> split_list(std::string_view text) {
    std::vector<std::string> items;
    while (true) {
        const auto end = text.find(';');
        const std::string_view item = trimmed(text.substr(0, end));
        if (!item.empty()) items.emplace_back(item);
        if (end == std::string_view::npos) return items;
        text.remove_prefix(end + 1);
    }
}

}  // namespace subcrop::io
