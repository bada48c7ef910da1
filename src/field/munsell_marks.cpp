#include "field/munsell_marks.hpp"

#include <algorithm>
#include <charconv>
#include <cstddef>
#include <initializer_list>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

bool is_one_of(std::string_view word, std::initializer_list<std::string_view> list) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

std::string upper(std::string_view text) {
    std::string result(text);
    for (char& c : result)
        if (is_lower(c)) c = static_cast<char>(c - 'a' + 'A');
    return result;
}

bool looks_like_number_letter(char c) { return c == 'O' || c == 'I' || c == 'L'; }

/// Letters written for figures, as in "1OYR 5/l", become figures. True if there were any.
bool mend_letters_for_figures(std::string& text) {
    bool mended = false;
    for (std::size_t begin = 0; begin < text.size();) {
        if (!is_letter(text[begin]) && !is_digit(text[begin])) {
            ++begin;
            continue;
        }
        std::size_t end = begin;
        while (end < text.size() && (is_letter(text[end]) || is_digit(text[end]) || text[end] == '.')) ++end;
        const std::string run = text.substr(begin, end - begin);
        const auto figure = [&](std::size_t i) {
            return i < run.size() && (is_digit(run[i]) || run[i] == '.' || looks_like_number_letter(run[i]));
        };
        // Number, hue letters, number, the last two as may be; and nothing else, or the run is a word.
        std::size_t first = 0;
        while (figure(first)) ++first;
        std::size_t letters = first;
        while (letters < run.size() && std::string_view("RYGBPN").find(run[letters]) != std::string_view::npos)
            ++letters;
        std::size_t last = letters;
        while (figure(last)) ++last;
        const bool digits = std::any_of(run.begin(), run.end(), is_digit);
        const bool ten = first == 2 && (run.starts_with("LO") || run.starts_with("IO")) && letters > first;
        const bool after_slash = begin > 0 && text[begin - 1] == '/' && run.size() == 1;
        if (last == run.size() && (digits || ten || after_slash)) {
            for (std::size_t i = 0; i < run.size(); ++i) {
                if (i >= first && i < letters) continue;
                if (!looks_like_number_letter(run[i])) continue;
                text[begin + i] = run[i] == 'O' ? '0' : '1';
                mended = true;
            }
        }
        begin = end;
    }
    return mended;
}

/// Whether a comma between two digits is a decimal point: "7,5YR 4/4" but not "10YR 5/4,5/6". `before`: the mark before
/// the figures; `text` runs on after the comma.
bool is_decimal_comma(char before, std::string_view text) {
    if (before != '/') return true;
    std::size_t after = 0;
    while (after < text.size() && (is_digit(text[after]) || text[after] == '.')) ++after;
    while (after < text.size() && text[after] == ' ') ++after;
    return after == text.size() ||
           (text[after] != '/' && std::string_view("RYGBPN").find(text[after]) == std::string_view::npos);
}

void decimal_commas_to_points(std::string& text) {
    const auto of_figures = [&](std::size_t i) { return is_digit(text[i]) || text[i] == '.'; };
    char last = '\0', before = '\0';  // the last mark that is no space; the one before the figures
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (of_figures(i) && (i == 0 || !of_figures(i - 1))) before = last;
        if (text[i] == ',' && i > 0 && i + 1 < text.size() && is_digit(text[i - 1]) && is_digit(text[i + 1]) &&
            is_decimal_comma(before, std::string_view(text).substr(i + 1)))
            text[i] = '.';
        if (text[i] != ' ') last = text[i];
    }
}

/// "10YR 4,6" without any slash: behind the hue a comma between figures is the slash, for without it there is no
/// chroma. A neutral has none. True where the comma might be a decimal mark all the same: half a step of value.
bool commas_to_slashes(std::string& text) {
    if (text.find('/') != std::string::npos || text.find('N') != std::string::npos) return false;
    const auto hue = text.find_first_of("RYGBP");
    bool half = false;
    for (std::size_t i = hue == std::string::npos ? text.size() : hue; i < text.size(); ++i) {
        if (text[i] != ',' || !is_digit(text[i - 1])) continue;
        const auto next = text.find_first_not_of(' ', i + 1);
        if (next == std::string::npos || !is_digit(text[next])) continue;
        text[i] = '/';
        half = half || text[next] == '5';
    }
    return half;
}

bool is_colour_word(std::string_view word) {
    return is_one_of(word, {"DARK",     "VERY",    "LIGHT",   "PALE",     "DUSKY",     "WEAK",   "STRONG", "BROWN",
                            "BROWNISH", "RED",     "REDDISH", "YELLOW",   "YELLOWISH", "OLIVE",  "GRAY",   "GREY",
                            "GRAYISH",  "GREYISH", "GREEN",   "GREENISH", "BLUE",      "BLUISH", "BLACK",  "WHITE",
                            "PINK",     "PINKISH", "PURPLE",  "BROWNS",   "MATRIX",    "COLOUR", "COLOR",  "MUNSELL",
                            "RUBBED",   "CRUSHED", "WHEN",    "CA",       "ABOUT",     "APPROX", "HUE"});
}

}  // namespace

CutNote cut_up(std::string_view written) {
    std::string text = upper(plain_marks(written));
    CutNote cut;
    std::replace(text.begin(), text.end(), '\\', '/');
    const bool half_step = commas_to_slashes(text);
    decimal_commas_to_points(text);
    cut.mended = mend_letters_for_figures(text);

    if (half_step) cut.remarks.emplace_back("the comma between value and chroma is read as a slash");
    cut.colours.emplace_back();
    cut.moistures.push_back(Moisture::unstated);
    bool slash = false;  // of the colour being read
    const auto next_colour = [&] {
        const auto& marks = cut.colours.back();
        if (marks.empty()) return;
        // A hue alone waits for its value: "10YR, 5/6".
        if (marks.back().kind == MarkKind::letters && !slash) return;
        slash = false;
        cut.colours.emplace_back();
        cut.moistures.push_back(Moisture::unstated);
    };
    for (std::size_t at = 0; at < text.size();) {
        const char c = text[at];
        auto& marks = cut.colours.back();
        if (is_digit(c) ||
            (c == '.' && at + 1 < text.size() && is_digit(text[at + 1]) && (at == 0 || !is_letter(text[at - 1])))) {
            std::size_t end = at;
            while (end < text.size() &&
                   (is_digit(text[end]) || (text[end] == '.' && end + 1 < text.size() && is_digit(text[end + 1]))))
                ++end;
            const std::string figures = text.substr(at, end - at);
            double number = 0;
            const auto [stop, error] = std::from_chars(figures.data(), figures.data() + figures.size(), number);
            if (error != std::errc() || stop != figures.data() + figures.size())
                throw MunsellRefusal{"'" + figures + "' is no number", std::string(munsell_example)};
            marks.push_back({MarkKind::number, figures, number});
            at = end;
        } else if (is_letter(c)) {
            std::size_t end = at;
            while (end < text.size() && is_letter(text[end])) ++end;
            const std::string word = text.substr(at, end - at);
            at = end;
            if (is_one_of(word, {"MOIST", "M", "DAMP", "MST"})) {
                cut.moistures.back() = Moisture::moist;
            } else if (word == "WET") {
                cut.moistures.back() = Moisture::moist;
                cut.remarks.push_back("'wet' is read as moist");
            } else if (is_one_of(word, {"DRY", "D"})) {
                cut.moistures.back() = Moisture::dry;
            } else if (is_one_of(word, {"TO", "THROUGH"})) {
                marks.push_back({MarkKind::to, word});
            } else if (is_one_of(word, {"AND", "WITH", "OR"})) {
                next_colour();
            } else if (!is_colour_word(word)) {
                marks.push_back({MarkKind::letters, word});
            }
        } else {
            if (c == '/') {
                marks.push_back({MarkKind::slash, "/"});
                slash = true;
            } else if (c == '-') {
                marks.push_back({MarkKind::dash, "-"});
            } else if (c == ',' || c == ';' || c == '&' || c == '+') {
                next_colour();
            } else if (c == '?') {
                cut.remarks.push_back("the question mark is not kept");
            } else if (std::string_view(" .:()[]_~'\"*=").find(c) == std::string_view::npos) {
                throw MunsellRefusal{"'" + std::string(trimmed(written)) + "' is no Munsell notation",
                                     std::string(munsell_example)};
            }
            ++at;
        }
    }
    if (cut.colours.back().empty() && cut.colours.size() > 1) {
        // Words after the last comma belong to the colour before it: "10YR 5/6, moist".
        const Moisture last = cut.moistures.back();
        cut.colours.pop_back();
        cut.moistures.pop_back();
        if (cut.moistures.back() == Moisture::unstated) cut.moistures.back() = last;
    }
    return cut;
}

}  // namespace subcrop::field
