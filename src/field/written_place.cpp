#include "subcrop/field/written_place.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <optional>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

namespace subcrop::field {

namespace {

constexpr double most_degrees = 360;   ///< a larger number counts metres
constexpr double most_metres = 1e8;    ///< no place on Earth is farther from any origin
constexpr double least_metres = 1000;  ///< of a coordinate; smaller ones may be degrees and minutes run together
constexpr std::size_t longest = 200;   ///< letters of a place

enum class Sort { number, degree, minute, second, colon, separator, sign, compass, axis, metres, utm };

struct Token {
    Sort sort = Sort::number;
    double value = 0;
    bool whole = true;  ///< a number without decimals
    bool leading_zero = false;
    char letter = 0;          ///< N, S, E or W; of an axis A (latitude) or O (longitude); of a sign + or -
    bool one_letter = false;  ///< a compass point written as a letter
    bool touches = false;     ///< nothing stands between it and what is before it
    std::string text;
};

struct Failure {
    std::string message, remedy;
};

const char* const how_degrees = "Write it such as 45.20575 N 3.67 E, 45°12'20.7\"N 3°40'12\"E or 45 12.345 N 3 40.2 E.";

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return result;
}

/// Marks that are written in several ways, as one.
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

/// What a word stands for; nothing where it is none that is known.
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

/// The letter of a band of UTM, C to X without I and O.
bool is_band(const Token& token) {
    return token.text.size() == 1 && token.text[0] >= 'c' && token.text[0] <= 'x' && token.text[0] != 'i' &&
           token.text[0] != 'o';
}

class Reader {
public:
    explicit Reader(std::string_view text) : text_(with_plain_marks(text)) { lex(); }

    WrittenPlace place() {
        if (metres_) return metres();
        std::vector<std::vector<Token>> parts = in_two();
        const Angle a = angle(parts[0]), b = angle(parts[1]);
        return placed(a, b);
    }

    double one_angle(Axis axis) {
        if (metres_) throw Failure{"the number is too large for degrees", how_degrees};
        const Angle read = angle(without_ends(tokens_));
        if (read.axis && *read.axis != axis) {
            throw Failure{axis == Axis::latitude ? "this is a longitude in a column of latitudes"
                                                 : "this is a latitude in a column of longitudes",
                          "Exchange the columns named as 'x' and 'y', or the two values."};
        }
        check(read.value, axis);
        return read.value;
    }

private:
    struct Angle {
        double value = 0;
        std::optional<Axis> axis;
    };

    [[noreturn]] static void fail(std::string message, std::string remedy = how_degrees) {
        throw Failure{std::move(message), std::move(remedy)};
    }

    void lex() {
        if (text_.size() > longest) fail("the text is too long for a place");
        // A comma between digits is the decimal mark unless a point is.
        const bool points = has_decimals('.');
        for (std::size_t i = 0; i < text_.size();) metres_ = number_at(i, points).first > most_degrees || metres_;
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
                        fail("'" + text_ + "' is not a place: a character in it has no meaning there");
                }
            }
            // "45d 12m 18s": seconds, where minutes were a letter too
            const std::size_t n = tokens_.size();
            if (token.text == "s" && n >= 2 && tokens_[n - 1].sort == Sort::number &&
                tokens_[n - 2].sort == Sort::minute && !tokens_[n - 2].text.empty())
                token.sort = Sort::second;
            tokens_.push_back(std::move(token));
        }
        if (tokens_.empty()) fail("there is no place in it");
    }

    Token word(const std::string& written, bool touches) const {
        const std::string plain = lower(written);
        std::optional<Token> known = word_token(plain, metres_);
        if (!known && metres_ && plain.size() == 1) {
            known.emplace();
            known->sort = Sort::utm;  // the letter of a band, perhaps
        }
        if (!known && (plain == "o" || plain == "ost" || plain == "ouest" || plain == "oest"))
            fail("'" + written + "' is east in some languages and west in others", "Write E for east or W for west.");
        if (!known) fail("the word '" + written + "' has no meaning in a place");
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
        if (read.ec != std::errc() || value > most_metres) fail("a number in it is too large for a place on Earth");
        return {value, whole};
    }

    static std::vector<Token> without_ends(std::vector<Token> tokens) {
        while (!tokens.empty() && tokens.front().sort == Sort::separator) tokens.erase(tokens.begin());
        while (!tokens.empty() && tokens.back().sort == Sort::separator) tokens.pop_back();
        return tokens;
    }

    static std::size_t count(const std::vector<Token>& tokens, Sort sort) {
        std::size_t n = 0;
        for (const Token& token : tokens) n += token.sort == sort;
        return n;
    }

    /// The tokens of the two angles of a place.
    std::vector<std::vector<Token>> in_two() {
        const std::vector<Token> all = without_ends(tokens_);
        std::vector<std::vector<Token>> parts;
        const bool named = count(all, Sort::axis) > 0, by_compass = !named && count(all, Sort::compass) > 0;
        const bool compass_first = by_compass && all.front().sort == Sort::compass;
        if (named || by_compass) {
            std::vector<Token> part;
            for (const Token& token : all) {
                const bool begins = named ? token.sort == Sort::axis : compass_first && token.sort == Sort::compass;
                if (begins && !part.empty()) parts.push_back(std::exchange(part, {}));
                part.push_back(token);
                if (by_compass && !compass_first && token.sort == Sort::compass)
                    parts.push_back(std::exchange(part, {}));
            }
            if (!part.empty()) parts.push_back(std::move(part));
        } else if (count(all, Sort::separator) > 0) {
            parts.emplace_back();
            for (const Token& token : all) {
                if (token.sort == Sort::separator)
                    parts.emplace_back();
                else
                    parts.back().push_back(token);
            }
        } else if (count(all, Sort::degree) == 2) {
            for (std::size_t i = 0; i < all.size(); ++i) {
                const bool sign = all[i].sort == Sort::sign;
                const bool number =
                    all[i].sort == Sort::number && i + 1 < all.size() && all[i + 1].sort == Sort::degree;
                const bool signed_number = number && i > 0 && all[i - 1].sort == Sort::sign;
                if (parts.empty() || sign || (number && !signed_number)) parts.emplace_back();
                parts.back().push_back(all[i]);
            }
        } else if (count(all, Sort::number) == 2) {
            for (const Token& token : all) {
                const bool follows_sign = !parts.empty() && parts.back().back().sort == Sort::sign;
                if (parts.empty() || token.sort == Sort::sign || (token.sort == Sort::number && !follows_sign))
                    parts.emplace_back();
                parts.back().push_back(token);
            }
        } else if (count(all, Sort::number) > 2) {
            fail("it does not show where the latitude ends and the longitude begins");
        }
        if (parts.size() < 2)
            fail("there is one coordinate in it, and a place has two" +
                 std::string(text_.find(',') != std::string::npos ? " (the comma was taken as the decimal mark)" : ""));
        if (parts.size() > 2) fail("there are more than two coordinates in it");
        return parts;
    }

    Angle angle(std::vector<Token> tokens) const {
        tokens = without_ends(std::move(tokens));
        Angle result;
        std::optional<char> compass, sign;
        double parts[3] = {};
        std::size_t numbers = 0;
        bool last_whole = true, compass_behind = false;
        bool open = false;  // a number whose mark may follow
        for (const Token& token : tokens) {
            switch (token.sort) {
                case Sort::axis:
                    if (numbers > 0 || result.axis) fail("'lat' or 'lon' stands in the middle of a coordinate");
                    result.axis = token.letter == 'A' ? Axis::latitude : Axis::longitude;
                    break;
                case Sort::compass:
                    if (compass) fail("a coordinate has two points of the compass");
                    compass = token.letter;
                    compass_behind = numbers > 0;
                    open = false;
                    break;
                case Sort::sign:
                    if (numbers > 0 || sign) fail("a sign stands in the middle of a coordinate");
                    sign = token.letter;
                    break;
                case Sort::number:
                    if (numbers == 3) fail("a coordinate has degrees, minutes and seconds, and this one has more");
                    if (numbers > 0 && !last_whole) fail("only the last part of a coordinate may have decimals");
                    if (compass_behind) fail("a point of the compass stands in the middle of a coordinate");
                    parts[numbers++] = token.value;
                    last_whole = token.whole;
                    open = true;
                    break;
                case Sort::degree:
                case Sort::minute:
                case Sort::second: {
                    const std::size_t place = token.sort == Sort::degree ? 1 : token.sort == Sort::minute ? 2 : 3;
                    if (!open || numbers != place) {
                        const char* name = place == 1 ? "degrees" : place == 2 ? "minutes" : "seconds";
                        fail(std::string("the mark of ") + name + " does not stand behind the " + name);
                    }
                    open = false;
                    break;
                }
                case Sort::colon:
                    if (!open && numbers > 0) fail("a colon stands where none belongs");
                    break;
                default:
                    fail("it is not a place in degrees");
            }
        }
        if (numbers == 0) fail("a coordinate has no number");
        for (std::size_t i = 1; i < numbers; ++i) {
            if (parts[i] >= 60) fail(i == 1 ? "there are 60 minutes or more" : "there are 60 seconds or more");
        }
        if (sign && compass)
            fail("a sign and a point of the compass may contradict one another",
                 "Keep one of the two: -3.67 or 3.67 W.");
        result.value = parts[0] + parts[1] / 60 + parts[2] / 3600;
        if (compass) {
            const Axis axis = *compass == 'N' || *compass == 'S' ? Axis::latitude : Axis::longitude;
            if (result.axis && *result.axis != axis)
                fail(axis == Axis::latitude ? "a longitude cannot lie north or south"
                                            : "a latitude cannot lie east or west");
            result.axis = axis;
        }
        if ((compass && (*compass == 'S' || *compass == 'W')) || (sign && *sign == '-')) result.value = -result.value;
        return result;
    }

    static void check(double value, Axis axis) {
        if (axis == Axis::latitude && std::abs(value) > 90) fail("a latitude is 90 degrees at most");
        if (axis == Axis::longitude && std::abs(value) > 180) fail("a longitude is 180 degrees at most");
    }

    static WrittenPlace placed(Angle a, Angle b) {
        if (!a.axis && !b.axis) {
            if (std::abs(a.value) > 90 && std::abs(b.value) <= 90)
                a.axis = Axis::longitude;
            else if (std::abs(b.value) > 90 && std::abs(a.value) <= 90)
                a.axis = Axis::latitude;
            else
                fail("it does not say which of the two is the latitude",
                     "Write N or S behind the latitude and E or W behind the longitude.");
        }
        if (a.axis && b.axis && *a.axis == *b.axis)
            fail(*a.axis == Axis::latitude ? "both coordinates are latitudes" : "both coordinates are longitudes");
        const bool latitude_first = a.axis ? *a.axis == Axis::latitude : *b.axis == Axis::longitude;
        WrittenPlace place;
        place.y = latitude_first ? a.value : b.value;
        place.x = latitude_first ? b.value : a.value;
        check(place.y, Axis::latitude);
        check(place.x, Axis::longitude);
        return place;
    }

    /// Metres: two large numbers, and a zone where it is UTM.
    WrittenPlace metres() {
        const char* const how = "Write it such as 31V 540595 6231941, or 540595 east, 6231941 north.";
        struct Metres {
            double value;
            char label;
            bool leading_zero;
        };
        std::vector<Metres> numbers;
        std::optional<int> zone;
        std::optional<bool> north;
        for (std::size_t i = 0; i < tokens_.size(); ++i) {
            const Token& token = tokens_[i];
            const bool after_zone = i > 0 && tokens_[i - 1].sort == Sort::number && tokens_[i - 1].value <= 60;
            switch (token.sort) {
                case Sort::number:
                    if (token.value <= 60 && token.whole) {
                        if (zone) fail("there are two numbers that may be a zone", how);
                        if (token.value < 1) fail("zones of UTM are numbered from 1 to 60", how);
                        zone = static_cast<int>(token.value);
                    } else if (token.value < least_metres) {
                        fail("'" + token.text + "' is too small for metres and too large for degrees", how);
                    } else {
                        numbers.push_back({token.value, 0, token.leading_zero});
                    }
                    break;
                case Sort::compass:
                    if (after_zone) {
                        if (token.letter == 'S' && token.one_letter)
                            fail("'" + tokens_[i - 1].text +
                                     "S' may be the band S, north of the equator, or the southern half of the zone",
                                 "Write 'zone " + tokens_[i - 1].text + " north' or 'zone " + tokens_[i - 1].text +
                                     " south'.");
                        if ((token.letter == 'E' || token.letter == 'W') && !token.one_letter)
                            fail("a zone of UTM has no half called " + token.text, how);
                        // E and W are bands too: E lies south of the equator, W north of it.
                        north = token.letter == 'N' || token.letter == 'W';
                        if (token.one_letter && token.letter != 'N') band_ = token.text[0];
                        break;
                    }
                    if (token.letter == 'W' || token.letter == 'S')
                        fail("metres of a grid count to the east and to the north", how);
                    if (numbers.empty() || numbers.back().label != 0)
                        fail("'" + token.text + "' stands behind no coordinate", how);
                    numbers.back().label = token.letter;
                    break;
                case Sort::utm:
                    if (token.text == "utm" || token.text == "zone") break;
                    if (!after_zone || !is_band(token)) fail("'" + token.text + "' is no band of a UTM zone", how);
                    band_ = token.text[0];
                    north = band_ >= 'n';
                    break;
                case Sort::separator:
                case Sort::metres:
                case Sort::colon:
                    break;
                default:
                    fail("degrees and metres stand in one place", how);
            }
        }
        if (numbers.size() != 2)
            fail(numbers.size() == 1 ? "there is one coordinate in it, and a place has two"
                                     : "there are more than two coordinates in it",
                 how);
        if (numbers[0].label != 0 && numbers[0].label == numbers[1].label)
            fail("both coordinates are called by the same point of the compass", how);
        const bool north_first = numbers[0].label == 'N' || numbers[1].label == 'E';
        WrittenPlace place;
        place.x = numbers[north_first ? 1 : 0].value;
        place.y = numbers[north_first ? 0 : 1].value;
        if (!zone) {
            if (numbers[0].leading_zero || numbers[1].leading_zero)
                fail("a coordinate with a zero before it may be degrees and minutes run together", how);
            place.kind = WrittenPlace::Kind::grid;
            return place;
        }
        if (!north)
            fail("the zone of UTM lacks its half of the Earth",
                 "Write its band, such as 31V, or 'zone " + std::to_string(*zone) + " north'.");
        place.kind = WrittenPlace::Kind::utm;
        place.zone = *zone;
        place.north = *north;
        if (place.x < 100'000 || place.x > 900'000)
            fail(place.y >= 100'000 && place.y <= 900'000 && place.x > 900'000
                     ? "east and north seem to be exchanged: the east of UTM has six digits"
                     : "the east of UTM lies between 100000 and 900000",
                 how);
        if (place.y > 10'000'000) fail("the north of UTM is 10000000 at most", how);
        return place;
    }

public:
    /// "; the northing lies in band V, not U" where a band was written that does not fit.
    std::string band_remark(const WrittenPlace& place) const {
        if (band_ == 0) return {};
        // The meridian arc of WGS 84 by its series (Snyder 1987, USGS Professional Paper 1395, equation 3-21, per
        // degree), solved by steps.
        const double arc = (place.north ? place.y : place.y - 10'000'000) / 0.9996;
        double latitude = arc / 111'132.95;
        for (int step = 0; step < 5; ++step) {
            const double radians = latitude * std::numbers::pi / 180;
            latitude = (arc + 16'038.509 * std::sin(2 * radians) - 16.833 * std::sin(4 * radians)) / 111'132.9526;
        }
        static constexpr std::string_view bands = "cdefghjklmnpqrstuvwx";
        const auto written = bands.find(band_);
        const double from = -80 + 8 * static_cast<double>(written), to = band_ == 'x' ? 84 : from + 8;
        constexpr double tolerance = 0.1;  // a parallel of latitude is not quite straight in a zone
        if (latitude > from - tolerance && latitude < to + tolerance) return {};
        const int at = static_cast<int>(std::floor((latitude + 80) / 8));
        if (at < 0 || at > 20) return "; the northing does not lie in band " + upper(band_);
        return "; the northing lies in band " + upper(bands[static_cast<std::size_t>(std::min(at, 19))]) + ", not " +
               upper(band_);
    }

private:
    static std::string upper(char c) { return std::string(1, static_cast<char>(c - 'a' + 'A')); }

    std::string text_;
    std::vector<Token> tokens_;
    bool metres_ = false;
    char band_ = 0;
};

std::string decimals(double value, int places) {
    char buffer[64];
    std::snprintf(buffer, sizeof buffer, "%.*f", places, value);
    std::string text = buffer;
    if (text.find('.') != std::string::npos) {
        while (text.back() == '0') text.pop_back();
        if (text.back() == '.') text.pop_back();
    }
    return text == "-0" ? "0" : text;
}

}  // namespace

std::string degrees_text(double latitude, double longitude) {
    return decimals(std::abs(latitude), 6) + "° " + (latitude < 0 ? "S" : "N") + ", " +
           decimals(std::abs(longitude), 6) + "° " + (longitude < 0 ? "W" : "E");
}

Parsed<WrittenPlace> read_place(std::string_view text) {
    try {
        Reader reader(text);
        const WrittenPlace place = reader.place();
        std::string words = "read as ";
        if (place.kind == WrittenPlace::Kind::degrees) {
            words += degrees_text(place.y, place.x);
        } else {
            if (place.kind == WrittenPlace::Kind::utm)
                words += "UTM zone " + std::to_string(place.zone) + (place.north ? " north, " : " south, ");
            words += decimals(place.x, 2) + " east, " + decimals(place.y, 2) + " north" + reader.band_remark(place);
        }
        return {place, std::move(words), {}};
    } catch (Failure& failure) {
        return {std::nullopt, std::move(failure.message), std::move(failure.remedy)};
    }
}

Parsed<double> read_angle(std::string_view text, Axis axis) {
    try {
        const double value = Reader(text).one_angle(axis);
        return {value, "read as " + decimals(value, 6) + " degrees", {}};
    } catch (Failure& failure) {
        return {std::nullopt, std::move(failure.message), std::move(failure.remedy)};
    }
}

}  // namespace subcrop::field
