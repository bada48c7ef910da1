#include "field/place_tokens.hpp"

#include <array>
#include <charconv>
#include <cstddef>
#include <optional>
#include <system_error>
#include <utility>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

using Sort = PlaceSort;
using Token = PlaceToken;

constexpr double max_degrees = 360;   ///< a larger number counts metres
constexpr double max_metres = 1e8;    ///< no place on Earth is farther from any origin
constexpr std::size_t longest = 200;  ///< letters of a place

/// Marks with several spellings, as one.
std::string with_plain_marks(std::string_view text) {
    struct Mark {
        std::string_view written, plain;
    };
    static constexpr std::array marks = {Mark{"\xC2\xB0", "\x01"},
                                         Mark{"\xC2\xBA", "\x01"},
                                         Mark{"\xCB\x9A", "\x01"},  // degree sign, ordinal, ring
                                         Mark{"''", "\""},
                                         Mark{"\xE2\x80\xB2\xE2\x80\xB2", "\""},
                                         Mark{"\xE2\x80\x99\xE2\x80\x99", "\""},
                                         Mark{"\xE2\x80\xB3", "\""},
                                         Mark{"\xE2\x80\x9D", "\""},
                                         Mark{"\xE2\x80\x9C", "\""},  // seconds
                                         Mark{"\xE2\x80\xB2", "'"},
                                         Mark{"\xE2\x80\x99", "'"},
                                         Mark{"\xE2\x80\x98", "'"},
                                         Mark{"\xC2\xB4", "'"},
                                         Mark{"`", "'"},
                                         Mark{"\xE2\x88\x92", "-"},
                                         Mark{"\xE2\x80\x93", "-"},
                                         Mark{"\xC2\xA0", " "},
                                         Mark{"\xE2\x80\xAF", " "},
                                         Mark{"\xE2\x80\x89", " "}};
    std::string result;
    while (!text.empty()) {
        bool found = false;
        for (const Mark& mark : marks) {
            if (!text.starts_with(mark.written)) continue;
            result += mark.plain;
            text.remove_prefix(mark.written.size());
            found = true;
            break;
        }
        if (found) continue;
        result += text.front();
        text.remove_prefix(1);
    }
    return result;
}

/// The meaning of a word; nothing if it is unknown.
std::optional<Token> word_token(const std::string& word, bool metres) {
    const auto compass = [&](char letter) {
        Token token;
        token.sort = Sort::compass;
        token.letter = letter;
        token.one_letter = word.size() == 1;
        return token;
    };
    const auto of = [](Sort sort, char letter = 0) {
        Token token;
        token.sort = sort;
        token.letter = letter;
        return token;
    };
    if (word == "n" || word == "north") return compass('N');
    if (word == "s" || word == "south") return compass('S');
    if (word == "e" || word == "east") return compass('E');
    if (word == "w" || word == "west") return compass('W');
    if (metres && (word == "me" || word == "easting")) return compass('E');
    if (metres && (word == "mn" || word == "northing")) return compass('N');
    if (metres && (word == "m" || word == "metres")) return of(Sort::metres);
    if (word == "utm" || word == "zone") return of(Sort::utm);
    if (word == "lat" || word == "latitude") return of(Sort::axis, 'A');
    if (word == "lon" || word == "long" || word == "lng" || word == "longitude") return of(Sort::axis, 'O');
    if (word == "d" || word == "deg" || word == "degree" || word == "degrees") return of(Sort::degree);
    if (word == "m" || word == "min" || word == "minute" || word == "minutes") return of(Sort::minute);
    if (word == "sec" || word == "second" || word == "seconds") return of(Sort::second);
    return std::nullopt;
}

class Cutter {
public:
    explicit Cutter(std::string_view text) : text_(with_plain_marks(text)) {}

    PlaceTokens cut() {
        if (text_.size() > longest) no_place("the text is too long for a place");
        // A comma between digits is the decimal mark unless a point is.
        const bool points = has_decimals('.');
        for (std::size_t i = 0; i < text_.size();) metres_ = number_at(i, points).first > max_degrees || metres_;
        for (std::size_t i = 0; i < text_.size();) {
            const char c = text_[i];
            if (c == ' ' || c == '\t' || c == '=') {
                ++i;
                continue;
            }
            Token token;
            token.touches = i > 0 && text_[i - 1] != ' ' && text_[i - 1] != '\t';
            if (is_digit(c) || (c == '.' && i + 1 < text_.size() && is_digit(text_[i + 1]))) {
                const std::size_t from = i;
                const auto [value, whole] = number_at(i, points);
                token.value = value;
                token.whole = whole;
                token.text = text_.substr(from, i - from);
                token.leading_zero = token.text.size() > 1 && token.text[0] == '0' && is_digit(token.text[1]);
            } else if (is_letter(c)) {
                const std::size_t from = i;
                while (i < text_.size() && is_letter(text_[i])) ++i;
                token = word(text_.substr(from, i - from), token.touches);
                if (i < text_.size() && text_[i] == '.' && (i + 1 == text_.size() || !is_digit(text_[i + 1])))
                    ++i;  // "Lat.", "min."
            } else {
                ++i;
                token.letter = c;
                switch (c) {
                    case '\x01':
                        token.sort = Sort::degree;
                        break;
                    case '\'':
                        token.sort = Sort::minute;
                        break;
                    case '"':
                        token.sort = Sort::second;
                        break;
                    case ':':
                        token.sort = Sort::colon;
                        break;
                    case ',':
                    case ';':
                    case '/':
                    case '|':
                        token.sort = Sort::separator;
                        break;
                    case '(':
                    case ')':
                        continue;
                    case '+':
                    case '-':
                        token.sort = Sort::sign;
                        break;
                    default:
                        no_place("'" + text_ + "' is not a place: a character in it has no meaning there");
                }
            }
            // "45d 12m 18s": seconds, where minutes were a letter too
            const std::size_t n = tokens_.size();
            if (token.text == "s" && n >= 2 && tokens_[n - 1].sort == Sort::number &&
                tokens_[n - 2].sort == Sort::minute && !tokens_[n - 2].text.empty())
                token.sort = Sort::second;
            tokens_.push_back(std::move(token));
        }
        if (tokens_.empty()) no_place("there is no place in it");
        return {std::move(tokens_), std::move(text_), metres_};
    }

private:
    Token word(const std::string& written, bool touches) const {
        const std::string plain = lower(written);
        std::optional<Token> known = word_token(plain, metres_);
        if (!known && metres_ && plain.size() == 1) {
            known.emplace();
            known->sort = Sort::utm;  // the letter of a band, perhaps
        }
        if (!known && (plain == "o" || plain == "ost" || plain == "ouest" || plain == "oest"))
            no_place("'" + written + "' is east in some languages and west in others",
                     "Write E for east or W for west.");
        if (!known) no_place("the word '" + written + "' has no meaning in a place");
        known->touches = touches;
        known->text = plain;
        return *known;
    }

    bool has_decimals(char mark) const {
        for (std::size_t i = 1; i + 1 < text_.size(); ++i)
            if (text_[i] == mark && is_digit(text_[i - 1]) && is_digit(text_[i + 1])) return true;
        return false;
    }

    /// The number at `i`, and whether it has no decimals; moves `i` behind it, or by one where there is none.
    std::pair<double, bool> number_at(std::size_t& i, bool points) const {
        std::string digits;
        bool whole = true;
        while (i < text_.size() && is_digit(text_[i])) digits += text_[i++];
        const char mark = points ? '.' : ',';
        const bool point = i < text_.size() && (text_[i] == mark || text_[i] == '.');
        if (point && i + 1 < text_.size() && is_digit(text_[i + 1])) {
            whole = false;
            digits += '.';
            ++i;
            while (i < text_.size() && is_digit(text_[i])) digits += text_[i++];
        } else if (point && text_[i] == '.' && !digits.empty()) {
            ++i;  // "45."
        }
        if (digits.empty()) {
            ++i;
            return {0, true};
        }
        if (digits.front() == '.') digits.insert(0, "0");
        double value = 0;
        const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
        if (read.ec != std::errc() || value > max_metres) no_place("a number in it is too large for a place on Earth");
        return {value, whole};
    }

    std::string text_;
    std::vector<Token> tokens_;
    bool metres_ = false;
};

}  // namespace

void no_place(std::string message, std::string remedy) { throw PlaceFailure{std::move(message), std::move(remedy)}; }

PlaceTokens place_tokens(std::string_view written) { return Cutter(written).cut(); }

}  // namespace subcrop::field
