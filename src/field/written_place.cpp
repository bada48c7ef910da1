#include "subcrop/field/written_place.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "field/place_tokens.hpp"
#include "field/words.hpp"

namespace subcrop::field {

namespace {

using Sort = PlaceSort;
using Token = PlaceToken;

constexpr double min_metres = 1000;  ///< of a coordinate; smaller ones may be degrees and minutes run together

/// The letter of a band of UTM, C to X without I and O.
bool is_band(const Token& token) {
    return token.text.size() == 1 && token.text[0] >= 'c' && token.text[0] <= 'x' && token.text[0] != 'i' &&
           token.text[0] != 'o';
}

class Reader {
public:
    explicit Reader(std::string_view text) : written_(place_tokens(text)) {}

    WrittenPlace place() {
        if (written_.metres) return metres();
        std::vector<std::vector<Token>> parts = in_two();
        const Angle a = angle(parts[0]), b = angle(parts[1]);
        return placed(a, b);
    }

    double one_angle(Axis axis) {
        if (written_.metres) no_place("the number is too large for degrees");
        const Angle read = angle(without_ends(written_.tokens));
        if (read.axis && *read.axis != axis) {
            no_place(axis == Axis::latitude ? "this is a longitude in a column of latitudes"
                                            : "this is a latitude in a column of longitudes",
                     "Exchange the columns named as 'x' and 'y', or the two values.");
        }
        check(read.value, axis);
        return read.value;
    }

private:
    struct Angle {
        double value = 0;
        std::optional<Axis> axis;
    };

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
        const std::vector<Token> all = without_ends(written_.tokens);
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
            no_place("it does not show where the latitude ends and the longitude begins");
        }
        if (parts.size() < 2)
            no_place("there is one coordinate in it, and a place has two" +
                     std::string(written_.text.find(',') != std::string::npos
                                     ? " (the comma was taken as the decimal mark)"
                                     : ""));
        if (parts.size() > 2) no_place("there are more than two coordinates in it");
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
                    if (numbers > 0 || result.axis) no_place("'lat' or 'lon' stands in the middle of a coordinate");
                    result.axis = token.letter == 'A' ? Axis::latitude : Axis::longitude;
                    break;
                case Sort::compass:
                    if (compass) no_place("a coordinate has two points of the compass");
                    compass = token.letter;
                    compass_behind = numbers > 0;
                    open = false;
                    break;
                case Sort::sign:
                    if (numbers > 0 || sign) no_place("a sign stands in the middle of a coordinate");
                    sign = token.letter;
                    break;
                case Sort::number:
                    if (numbers == 3) no_place("a coordinate has degrees, minutes and seconds, and this one has more");
                    if (numbers > 0 && !last_whole) no_place("only the last part of a coordinate may have decimals");
                    if (compass_behind) no_place("a point of the compass stands in the middle of a coordinate");
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
                        no_place(std::string("the mark of ") + name + " does not stand behind the " + name);
                    }
                    open = false;
                    break;
                }
                case Sort::colon:
                    if (!open && numbers > 0) no_place("a colon stands where none belongs");
                    break;
                default:
                    no_place("it is not a place in degrees");
            }
        }
        if (numbers == 0) no_place("a coordinate has no number");
        for (std::size_t i = 1; i < numbers; ++i) {
            if (parts[i] >= 60) no_place(i == 1 ? "there are 60 minutes or more" : "there are 60 seconds or more");
        }
        if (sign && compass)
            no_place("a sign and a point of the compass may contradict one another",
                     "Keep one of the two: -3.67 or 3.67 W.");
        result.value = parts[0] + parts[1] / 60 + parts[2] / 3600;
        if (compass) {
            const Axis axis = *compass == 'N' || *compass == 'S' ? Axis::latitude : Axis::longitude;
            if (result.axis && *result.axis != axis)
                no_place(axis == Axis::latitude ? "a longitude cannot lie north or south"
                                                : "a latitude cannot lie east or west");
            result.axis = axis;
        }
        if ((compass && (*compass == 'S' || *compass == 'W')) || (sign && *sign == '-')) result.value = -result.value;
        return result;
    }

    static void check(double value, Axis axis) {
        if (axis == Axis::latitude && std::abs(value) > 90) no_place("a latitude is 90 degrees at most");
        if (axis == Axis::longitude && std::abs(value) > 180) no_place("a longitude is 180 degrees at most");
    }

    static WrittenPlace placed(Angle a, Angle b) {
        if (!a.axis && !b.axis) {
            if (std::abs(a.value) > 90 && std::abs(b.value) <= 90)
                a.axis = Axis::longitude;
            else if (std::abs(b.value) > 90 && std::abs(a.value) <= 90)
                a.axis = Axis::latitude;
            else
                no_place("it does not say which of the two is the latitude",
                         "Write N or S behind the latitude and E or W behind the longitude.");
        }
        if (a.axis && b.axis && *a.axis == *b.axis)
            no_place(*a.axis == Axis::latitude ? "both coordinates are latitudes" : "both coordinates are longitudes");
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
        for (std::size_t i = 0; i < written_.tokens.size(); ++i) {
            const Token& token = written_.tokens[i];
            const bool after_zone =
                i > 0 && written_.tokens[i - 1].sort == Sort::number && written_.tokens[i - 1].value <= 60;
            switch (token.sort) {
                case Sort::number:
                    if (token.value <= 60 && token.whole) {
                        if (zone) no_place("there are two numbers that may be a zone", how);
                        if (token.value < 1) no_place("zones of UTM are numbered from 1 to 60", how);
                        zone = static_cast<int>(token.value);
                    } else if (token.value < min_metres) {
                        no_place("'" + token.text + "' is too small for metres and too large for degrees", how);
                    } else {
                        numbers.push_back({token.value, 0, token.leading_zero});
                    }
                    break;
                case Sort::compass:
                    if (after_zone) {
                        if (token.letter == 'S' && token.one_letter)
                            no_place("'" + written_.tokens[i - 1].text +
                                         "S' may be the band S, north of the equator, or the southern half of the zone",
                                     "Write 'zone " + written_.tokens[i - 1].text + " north' or 'zone " +
                                         written_.tokens[i - 1].text + " south'.");
                        if ((token.letter == 'E' || token.letter == 'W') && !token.one_letter)
                            no_place("a zone of UTM has no half called " + token.text, how);
                        // E and W are bands too: E lies south of the equator, W north of it.
                        north = token.letter == 'N' || token.letter == 'W';
                        if (token.one_letter && token.letter != 'N') band_ = token.text[0];
                        break;
                    }
                    if (token.letter == 'W' || token.letter == 'S')
                        no_place("metres of a grid count to the east and to the north", how);
                    if (numbers.empty() || numbers.back().label != 0)
                        no_place("'" + token.text + "' stands behind no coordinate", how);
                    numbers.back().label = token.letter;
                    break;
                case Sort::utm:
                    if (token.text == "utm" || token.text == "zone") break;
                    if (!after_zone || !is_band(token)) no_place("'" + token.text + "' is no band of a UTM zone", how);
                    band_ = token.text[0];
                    north = band_ >= 'n';
                    break;
                case Sort::separator:
                case Sort::metres:
                case Sort::colon:
                    break;
                default:
                    no_place("degrees and metres stand in one place", how);
            }
        }
        if (numbers.size() != 2)
            no_place(numbers.size() == 1 ? "there is one coordinate in it, and a place has two"
                                         : "there are more than two coordinates in it",
                     how);
        if (numbers[0].label != 0 && numbers[0].label == numbers[1].label)
            no_place("both coordinates are called by the same point of the compass", how);
        const bool north_first = numbers[0].label == 'N' || numbers[1].label == 'E';
        WrittenPlace place;
        place.x = numbers[north_first ? 1 : 0].value;
        place.y = numbers[north_first ? 0 : 1].value;
        if (!zone) {
            if (numbers[0].leading_zero || numbers[1].leading_zero)
                no_place("a coordinate with a zero before it may be degrees and minutes run together", how);
            place.kind = WrittenPlace::Kind::grid;
            return place;
        }
        if (!north)
            no_place("the zone of UTM lacks its half of the Earth",
                     "Write its band, such as 31V, or 'zone " + std::to_string(*zone) + " north'.");
        place.kind = WrittenPlace::Kind::utm;
        place.zone = *zone;
        place.north = *north;
        if (place.x < 100'000 || place.x > 900'000)
            no_place(place.y >= 100'000 && place.y <= 900'000 && place.x > 900'000
                         ? "east and north seem to be exchanged: the east of UTM has six digits"
                         : "the east of UTM lies between 100000 and 900000",
                     how);
        if (place.y > 10'000'000) no_place("the north of UTM is 10000000 at most", how);
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

    PlaceTokens written_;
    char band_ = 0;
};

}  // namespace

std::string degrees_text(double latitude, double longitude) {
    return plain_number(std::abs(latitude)) + "° " + (latitude < 0 ? "S" : "N") + ", " +
           plain_number(std::abs(longitude)) + "° " + (longitude < 0 ? "W" : "E");
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
            words +=
                plain_number(place.x, 2) + " east, " + plain_number(place.y, 2) + " north" + reader.band_remark(place);
        }
        return {place, std::move(words), {}};
    } catch (PlaceFailure& failure) {
        return {std::nullopt, std::move(failure.message), std::move(failure.remedy)};
    }
}

Parsed<double> read_angle(std::string_view text, Axis axis) {
    try {
        const double value = Reader(text).one_angle(axis);
        return {value, "read as " + plain_number(value) + " degrees", {}};
    } catch (PlaceFailure& failure) {
        return {std::nullopt, std::move(failure.message), std::move(failure.remedy)};
    }
}

}  // namespace subcrop::field
