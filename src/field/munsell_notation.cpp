// The reader of Munsell notations. A note is cut into marks (numbers, letters, signs); words that say no colour are
// taken out; what is left is read as hue, value and chroma, each of which may be a range.
#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <optional>
#include <utility>

#include "field/munsell_marks.hpp"
#include "field/renotation.hpp"
#include "field/words.hpp"
#include "subcrop/field/munsell.hpp"

namespace subcrop::field {

namespace {

constexpr std::string_view families[] = {"R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"};

std::optional<int> family_of(std::string_view letters) {
    for (std::size_t i = 0; i < std::size(families); ++i)
        if (families[i] == letters) return static_cast<int>(i);
    return std::nullopt;
}

struct Range {
    double from = 0;
    double to = 0;
};

/// A hue as written: neutral, or a number and letters.
struct Hue {
    bool neutral = false;
    double number = 0;  ///< of the circle of 100
    friend bool operator==(const Hue&, const Hue&) = default;
};

class Reader {
public:
    Reader(std::string_view written, const std::vector<Mark>& marks, std::vector<std::string>& remarks)
        : written_(trimmed(written)), marks_(marks), remarks_(remarks) {}

    std::vector<Munsell> read() {
        if (marks_.empty()) refuse_as_a_whole();
        skip_gley();
        std::vector<Munsell> chips = at_gley_order() ? read_gley() : read_ordinary();
        // A dash before words already taken out: "10YR 5/6 - moist".
        while (peek().kind == MarkKind::dash) ++at_;
        if (peek().kind != MarkKind::end) refuse_as_a_whole();
        return chips;
    }

private:
    const Mark& peek(std::size_t ahead = 0) const {
        static const Mark end;
        return at_ + ahead < marks_.size() ? marks_[at_ + ahead] : end;
    }
    bool is(std::size_t ahead, MarkKind kind) const { return peek(ahead).kind == kind; }
    bool joins(std::size_t ahead) const { return is(ahead, MarkKind::dash) || is(ahead, MarkKind::to); }

    [[noreturn]] void refuse_as_a_whole() const {
        throw MunsellRefusal{"'" + std::string(written_) + "' is no Munsell notation", std::string(munsell_example)};
    }

    void skip_gley() {
        if (!is(0, MarkKind::letters) || peek().text != "GLEY") return;
        ++at_;
        // The page number is a number of its own: "GLEY 1 4/10Y", but not the 4 of "GLEY 4/10Y".
        if (is(0, MarkKind::number) && (peek().number == 1 || peek().number == 2) &&
            (is(1, MarkKind::number) || (is(1, MarkKind::letters) && peek(1).text.starts_with("N"))))
            ++at_;
        while (is(0, MarkKind::dash)) ++at_;
    }

    /// value/hue, as the gley pages are headed.
    bool at_gley_order() const {
        if (!is(0, MarkKind::number) || !is(1, MarkKind::slash)) return false;
        return (is(2, MarkKind::letters) && peek(2).text == "N") ||
               (is(2, MarkKind::number) && is(3, MarkKind::letters));
    }

    std::vector<Munsell> read_gley() {
        const double value = read_value();
        ++at_;  // the slash
        const Hue hue = read_hue();
        double chroma = hue.neutral ? 0.0 : 1.0;  // the gley pages show chroma 1 unless they say more
        if (is(0, MarkKind::slash)) ++at_;
        if (is(0, MarkKind::number)) chroma = read_chroma();
        return {make(hue, value, chroma)};
    }

    std::vector<Munsell> read_ordinary() {
        std::pair<Hue, Hue> hues = read_hues();
        // Signs between hue and value: "10YR-5/6", "10YR/5/6".
        if ((is(0, MarkKind::dash) || is(0, MarkKind::slash)) && is(1, MarkKind::number)) ++at_;
        std::vector<Munsell> chips = read_value_chroma(hues);
        if (joins(0) && !is(1, MarkKind::end)) {
            ++at_;
            const bool own_hue = is(0, MarkKind::letters) || (is(0, MarkKind::number) && is(1, MarkKind::letters));
            if (own_hue) {
                hues = read_hues();
                if (is(0, MarkKind::dash) && is(1, MarkKind::number)) ++at_;
            } else {
                hues = {hues.second, hues.second};
            }
            chips.push_back(read_value_chroma(hues).back());
        }
        return chips;
    }

    std::pair<Hue, Hue> read_hues() {
        // "7.5-10YR": the letters serve both numbers.
        if (is(0, MarkKind::number) && joins(1) && is(2, MarkKind::number) && is(3, MarkKind::letters)) {
            const Mark first = peek();
            at_ += 2;
            const std::size_t second = at_;
            const Hue to = read_hue();
            std::string letters;
            for (std::size_t i = second + 1; i < at_; ++i) letters += marks_[i].text;
            return {hue_from(first, letters), to};
        }
        const Hue from = read_hue();
        if (from.neutral) return {from, from};
        if (is(0, MarkKind::letters) && peek().text == "N") {  // "2.5Y N4/": a neutral chip mounted on a hue page
            ++at_;
            return {{true, 0}, {true, 0}};
        }
        if (joins(0) && is(1, MarkKind::number) && is(2, MarkKind::letters)) {
            ++at_;
            return {from, read_hue()};
        }
        return {from, from};
    }

    Hue read_hue() {
        if (is(0, MarkKind::letters)) {
            if (peek().text == "N") {
                ++at_;
                return {true, 0};
            }
            if (family_of(peek().text))
                throw MunsellRefusal{"the hue '" + peek().text + "' has no number before it",
                                     "Write the whole hue, such as 10YR or 5Y."};
            refuse_as_a_whole();
        }
        if (!is(0, MarkKind::number)) refuse_as_a_whole();
        const Mark number = peek();
        if (!is(1, MarkKind::letters)) {
            if (is(1, MarkKind::slash))
                throw MunsellRefusal{"'" + std::string(written_) + "' has no hue",
                                     "Write the hue before value and chroma, such as 10YR 5/6."};
            refuse_as_a_whole();
        }
        ++at_;
        std::string letters = peek().text;
        ++at_;
        while (is(0, MarkKind::letters) && peek().text != "N" && family_of(letters + peek().text)) {  // "10 Y R"
            letters += peek().text;
            ++at_;
        }
        return hue_from(number, letters);
    }

    Hue hue_from(const Mark& number, const std::string& letters) {
        const std::optional<int> family = family_of(letters);
        if (!family) {
            std::string remedy = "Write the hue as a number and letters, such as 10YR.";
            const std::string turned(letters.rbegin(), letters.rend());
            if (family_of(turned)) remedy = "Was " + number.text + turned + " meant?";
            throw MunsellRefusal{"no Munsell hue is written '" + number.text + letters + "'", remedy};
        }
        if (number.number > 10.0) {
            std::string remedy = "Within a hue the numbers run from 0 to 10.";
            if (number.number < 20.0)
                remedy += " Beyond 10" + letters + " comes " +
                          std::string(families[static_cast<std::size_t>((*family + 1) % 10)]) + ".";
            throw MunsellRefusal{"the hue number of '" + number.text + letters + "' is above 10", remedy};
        }
        double hue = 10.0 * *family + number.number;
        if (number.number == 0.0) {
            const std::string name = "10" + std::string(families[static_cast<std::size_t>((*family + 9) % 10)]);
            remark("the hue 0" + letters + " is read as " + name + ", which is the same");
            if (hue == 0.0) hue = 100.0;
        } else if (const double steps = number.number / 2.5; std::abs(steps - std::round(steps)) > 1e-9) {
            remark("no colour book carries the hue " + plain_number(number.number) + letters);
        }
        return {false, hue};
    }

    double read_value() {
        const Mark mark = peek();
        if (mark.number > 10.0)
            throw MunsellRefusal{"the value " + mark.text + " is above 10",
                                 "Value runs from 0, black, to 10, white. " + std::string(munsell_example)};
        if (const double halves = mark.number * 2.0; std::abs(halves - std::round(halves)) > 1e-9)
            remark("no colour book carries the value " + plain_number(mark.number));
        ++at_;
        return mark.number;
    }

    double read_chroma() {
        const Mark mark = peek();
        if (const double halves = mark.number * 2.0; std::abs(halves - std::round(halves)) > 1e-9)
            remark("no colour book carries the chroma " + plain_number(mark.number));
        ++at_;
        return mark.number;
    }

    std::vector<Munsell> read_value_chroma(const std::pair<Hue, Hue>& hues) {
        if (!is(0, MarkKind::number))
            throw MunsellRefusal{"'" + std::string(written_) + "' has no value and chroma",
                                 std::string(munsell_example)};
        const std::string value_text = peek().text;
        if (!hues.first.neutral && value_text.size() == 2 && peek().number > 10.0 && (is(1, MarkKind::end) || joins(1)))
            throw MunsellRefusal{
                "'" + std::string(written_) + "' has no slash between value and chroma",
                "Write " + value_text.substr(0, 1) + "/" + value_text.substr(1) + " if that was meant."};
        Range values;
        values.from = values.to = read_value();
        if (joins(0) && is(1, MarkKind::number) &&
            (is(2, MarkKind::slash) || (hues.first.neutral && is(2, MarkKind::end)))) {
            ++at_;
            values.to = read_value();
        }
        Range chromas;
        if (is(0, MarkKind::slash)) {
            ++at_;
            if (is(0, MarkKind::dash) && is(1, MarkKind::number))
                throw MunsellRefusal{"the chroma -" + peek(1).text + " is below 0",
                                     "Chroma runs from 0, neutral, upwards. " + std::string(munsell_example)};
            if (is(0, MarkKind::number)) {
                chromas.from = chromas.to = read_chroma();
                if (joins(0) && is(1, MarkKind::number) && !is(2, MarkKind::slash) && !is(2, MarkKind::letters) &&
                    !is(2, MarkKind::dash)) {
                    ++at_;
                    chromas.to = read_chroma();
                }
            } else if (!hues.first.neutral) {
                refuse_without_chroma();
            }
        } else if (is(0, MarkKind::number) && !hues.first.neutral) {
            remark("the slash between value and chroma was added");
            chromas.from = chromas.to = read_chroma();
        } else if (!hues.first.neutral) {
            refuse_without_chroma();
        }
        const Munsell first = make(hues.first, values.from, chromas.from);
        const Munsell last = make(hues.second, values.to, chromas.to);
        if (first == last) return {first};
        return {first, last};
    }

    [[noreturn]] void refuse_without_chroma() const {
        throw MunsellRefusal{"'" + std::string(written_) + "' has no chroma",
                             "Write the chroma after the slash, such as 10YR 5/6; a neutral grey is N 5/."};
    }

    Munsell make(const Hue& hue, double value, double chroma) {
        if (hue.neutral) {
            if (chroma != 0.0) remark("a neutral has no chroma; read as N " + plain_number(value) + "/");
            return {0.0, value, 0.0};
        }
        if (chroma == 0.0) return {0.0, value, 0.0};
        const double greatest = max_measured_chroma(hue.number, value);
        const std::string colour = notation({hue.number, value, chroma});
        if (chroma > 2.0 * greatest)
            throw MunsellRefusal{"no surface has the colour " + colour + ": the greatest chroma measured there is " +
                                     plain_number(greatest),
                                 "Look again at the chroma in the field book."};
        if (chroma > greatest)
            remark("the chroma of " + colour + " lies beyond the greatest measured there, " + plain_number(greatest) +
                   "; its colour is extrapolated");
        return {hue.number, value, chroma};
    }

    void remark(std::string text) {
        if (std::find(remarks_.begin(), remarks_.end(), text) == remarks_.end()) remarks_.push_back(std::move(text));
    }

    std::string_view written_;
    const std::vector<Mark>& marks_;
    std::vector<std::string>& remarks_;
    std::size_t at_ = 0;
};

ColourReading read(std::string_view text, std::vector<std::string>& remarks) {
    CutNote cut = cut_up(text);

    // If one field has a moist and a dry colour, the moist one is used, because signatures are learnt from moist
    // colours.
    std::size_t chosen = 0;
    if (cut.colours.size() > 1) {
        for (std::size_t i = cut.colours.size(); i-- > 0;)
            if (cut.moistures[i] == Moisture::moist) chosen = i;
        const bool moist = cut.moistures[chosen] == Moisture::moist;
        cut.remarks.push_back(moist ? "several colours are written; the moist one is read"
                                    : "several colours are written; the first is read");
    }
    ColourReading reading;
    std::vector<std::string> said;
    std::vector<Munsell> chips = Reader(text, cut.colours[chosen], said).read();
    if (chips.size() > 2) chips = {chips.front(), chips.back()};
    if (chips.size() == 2 && chips[0] == chips[1]) chips.pop_back();
    reading.chips = std::move(chips);
    reading.moisture = cut.moistures[chosen];
    reading.notation = notation(reading.chips.front());
    if (reading.chips.size() == 2) {
        const Munsell& to = reading.chips.back();
        reading.notation += " to ";
        const std::string whole = notation(to);
        // The hue once where both ends share it.
        const bool same_hue =
            to.chroma != 0.0 && reading.chips.front().chroma != 0.0 && to.hue == reading.chips.front().hue;
        reading.notation += same_hue ? whole.substr(whole.find(' ') + 1) : whole;
    }
    if (cut.mended) said.insert(said.begin(), "letters stand for figures; read as " + reading.notation);
    remarks = std::move(said);
    remarks.insert(remarks.end(), cut.remarks.begin(), cut.remarks.end());
    return reading;
}

}  // namespace

std::string notation(const Munsell& colour) {
    if (colour.chroma == 0.0) return "N " + plain_number(colour.value) + "/";
    assert(colour.hue >= 0.0 && colour.hue <= 100.0);
    const double hue = colour.hue == 0.0 ? 100.0 : colour.hue;
    const auto family = static_cast<std::size_t>(std::ceil(hue / 10.0)) - 1;
    return plain_number(hue - 10.0 * static_cast<double>(family)) + std::string(families[family]) + " " +
           plain_number(colour.value) + "/" + plain_number(colour.chroma);
}

Parsed<ColourReading> parse_munsell(std::string_view text) {
    if (trimmed(plain_marks(text)).empty()) return {std::nullopt, "no colour is written", std::string(munsell_example)};
    try {
        Parsed<ColourReading> parsed;
        std::vector<std::string> remarks;
        parsed.value = read(text, remarks);
        for (const std::string& remark : remarks) parsed.message += (parsed.message.empty() ? "" : "; ") + remark;
        return parsed;
    } catch (const MunsellRefusal& refusal) {
        return {std::nullopt, refusal.message, refusal.remedy};
    }
}

}  // namespace subcrop::field
