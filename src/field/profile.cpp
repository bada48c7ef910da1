#include "subcrop/field/profile.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>
#include <vector>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

// Soil Science Division Staff 2017, Soil Survey Manual, chapter 3; suffixes also in the Keys to Soil Taxonomy,
// chapter 18.
constexpr std::array<MasterHorizon, 9> masters_from_above{{
    {'O', "litter and peat"},
    {'L', "laid down in water: marl, diatomaceous or organic mud"},
    {'A', "mineral topsoil darkened by humus"},
    {'E', "bleached: clay, iron or humus washed out"},
    {'B', "subsoil changed by soil formation"},
    {'C', "little changed parent material; Cr weathered rock that a spade still cuts"},
    {'R', "hard bedrock"},
    {'M', "layer made by people that roots cannot enter"},
    {'W', "water"},
}};
constexpr std::string_view transition_letters = "AEBC";  // those written together: "AB", "BC"
constexpr std::string_view mixed_letters = "OAEBCR";     // those written with a stroke: "E/B"
constexpr std::string_view suffix_letters = "abcdefghijkmnopqrstuvwxyz";
constexpr std::string_view remedy_example = "Write a master letter and small suffixes, such as Ap, Bt2, 2BC or Cr.";
constexpr int max_prefix = 20;

constexpr bool holds(std::string_view letters, char c) { return letters.find(c) != std::string_view::npos; }

struct Refusal {
    std::string message;
    std::string remedy;
};

/// The place of a suffix by rule.
struct SuffixRule {
    char suffix;
    std::string_view masters;
    std::string_view said;
};

constexpr SuffixRule suffix_rules[] = {
    {'a', "O", "O"}, {'e', "O", "O"}, {'i', "O", "O"}, {'p', "OA", "O or A"}, {'r', "C", "C"}, {'w', "B", "B"},
};

Zone zone_of(std::string_view masters) {
    // The deepest letter decides; litter, water and laid layers only where nothing else is there, rock likewise.
    if (holds(masters, 'C')) return Zone::parent_material;
    if (holds(masters, 'B')) return Zone::subsoil;
    if (holds(masters, 'A') || holds(masters, 'E')) return Zone::topsoil;
    if (holds(masters, 'R')) return Zone::rock;
    return Zone::none;
}

class Reader {
public:
    Reader(std::string text, std::string shown) : text_(std::move(text)), shown_(std::move(shown)) {}

    Designation read(std::vector<std::string>& remarks) {
        if (text_[at_] == '^') {
            ++at_;
            result_.moved_by_people = true;
            remarks.push_back("material moved by people");
        }
        // No prefix is 0, so without a capital behind it this is the letter: "0", "0a", "01".
        if (text_[at_] == '0' && std::none_of(text_.begin(), text_.end(), is_upper)) {
            text_[at_] = 'O';
            result_.zero_for_letter = true;
            remarks.emplace_back("the figure 0 is read as the letter O");
        }
        read_prefix(remarks);
        read_part(remarks);
        while (at_ < text_.size() && text_[at_] == '/') {
            ++at_;
            mixed_ = true;
            read_part(remarks);
        }
        if (at_ < text_.size()) refuse();
        if (mixed_)
            for (const char c : result_.masters)
                if (!holds(mixed_letters, c)) refuse();
        for (const SuffixRule& rule : suffix_rules) {
            if (!holds(result_.suffixes, rule.suffix)) continue;
            if (std::none_of(result_.masters.begin(), result_.masters.end(),
                             [&](char c) { return holds(rule.masters, c); }))
                remarks.push_back(std::string("the suffix ") + rule.suffix + " belongs after " +
                                  std::string(rule.said));
        }
        result_.mixed = mixed_;
        result_.zone = result_.moved_by_people ? Zone::none : zone_of(result_.masters);
        return result_;
    }

private:
    [[noreturn]] void refuse() const {
        std::string meant = respelt();
        throw Refusal{"'" + shown_ + "' is no horizon designation",
                      meant.empty() ? std::string(remedy_example) : "Was '" + meant + "' meant?"};
    }

    /// Capitals and small letters corrected, if this alone makes it a designation.
    std::string respelt() const {
        if (mending_) return {};
        std::vector<std::string> tries;
        std::string small = lower(text_);
        std::string capital_first = small;
        for (char& c : capital_first) {
            if (!is_lower(c)) continue;
            c = static_cast<char>(c - 'a' + 'A');
            break;
        }
        tries.push_back(capital_first);
        // "ab" and "bc" as transitions.
        std::string both = text_;
        for (char& c : both)
            if (is_lower(c)) c = static_cast<char>(c - 'a' + 'A');
        tries.push_back(both);
        // A small l or capital I at the end for the figure 1, a capital O for 0.
        std::string figures = text_;
        for (std::size_t i = 1; i < figures.size(); ++i)
            if (figures[i] == 'l' || figures[i] == 'I') figures[i] = '1';
        tries.push_back(figures);
        for (const std::string& attempt : tries) {
            if (attempt == text_) continue;
            try {
                Reader reader(attempt, attempt);
                reader.mending_ = true;
                std::vector<std::string> remarks;
                reader.read(remarks);
                if (remarks.empty()) return attempt;
            } catch (const Refusal&) {
                continue;
            }
        }
        return {};
    }

    void read_prefix(std::vector<std::string>& remarks) {
        if (at_ < text_.size() && is_digit(text_[at_])) {
            int number = 0;
            while (at_ < text_.size() && is_digit(text_[at_]) && number <= max_prefix)
                number = 10 * number + (text_[at_++] - '0');
            if (number < 1 || number > max_prefix)
                throw Refusal{"the numeric prefix of '" + shown_ + "' is not from 1 to " + std::to_string(max_prefix),
                              "The prefix counts parent materials from the top: 2Bt lies in the second."};
            result_.parent_material = number;
            return;
        }
        // Older notes count parent materials in Roman figures.
        constexpr std::pair<std::string_view, int> roman[] = {{"III", 3}, {"II", 2}, {"IV", 4}, {"VI", 6}, {"V", 5}};
        for (const auto& [figures, number] : roman) {
            if (!std::string_view(text_).substr(at_).starts_with(figures)) continue;
            result_.parent_material = number;
            at_ += figures.size();
            remarks.push_back("the prefix " + std::string(figures) + " is read as " + std::to_string(number));
            return;
        }
    }

    /// Master letters, suffixes, primes and figures, up to a stroke or the end.
    void read_part(std::vector<std::string>& remarks) {
        const std::size_t begin = at_;
        std::string masters;
        while (at_ < text_.size() && is_upper(text_[at_])) masters += text_[at_++];
        if (masters.empty() || masters.size() > 2) refuse();
        if (masters.size() == 1 && std::none_of(masters_from_above.begin(), masters_from_above.end(),
                                                [&](const MasterHorizon& m) { return m.letter == masters[0]; })) {
            refuse();
        }
        if (masters.size() == 2 && (masters[0] == masters[1] || !holds(transition_letters, masters[0]) ||
                                    !holds(transition_letters, masters[1])))
            refuse();
        std::string suffixes;
        std::string number;
        int primes = 0;
        bool figures_before = false;
        bool figures = false;
        while (at_ < text_.size() && text_[at_] != '/') {
            const char c = text_[at_];
            if (is_lower(c)) {
                if (!holds(suffix_letters, c)) refuse();
                if (figures) figures_before = true;
                suffixes += c;
            } else if (is_digit(c)) {
                figures = true;
                number += c;
            } else if (c == '\'') {
                ++primes;
            } else if (c == '"') {
                primes += 2;
            } else if (c != '*') {
                refuse();
            }
            ++at_;
        }
        if (figures_before)
            remarks.push_back("figures before suffixes are an older style; " + text_.substr(begin, at_ - begin) +
                              " is read as " + masters + suffixes);
        result_.masters += masters;
        result_.suffixes += suffixes;
        result_.number = number;
        result_.primes = std::max(result_.primes, primes);
    }

    std::string text_;
    std::string shown_;
    std::size_t at_ = 0;
    bool mixed_ = false;
    bool mending_ = false;
    Designation result_;
};

/// Blanks out; 'and' and '&' are strokes; the word 'horizon' says nothing.
std::string compact(std::string_view text) {
    std::string result;
    for (const std::string& word : words(plain_marks(text), "_.()[]")) {
        const std::string small = lower(word);
        if (small == "horizon" || small == "hor" || small == "hz" || small == "-") continue;
        if (small == "and" || small == "&" || small == "+") {
            result += '/';
        } else {
            result += word;
        }
    }
    std::replace(result.begin(), result.end(), '&', '/');
    std::replace(result.begin(), result.end(), '+', '/');
    if (const std::string small = lower(result); small.ends_with("-horizon")) result.resize(result.size() - 8);
    return result;
}

}  // namespace

std::span<const MasterHorizon> master_horizons() { return masters_from_above; }

Parsed<Designation> parse_designation(std::string_view text) {
    const std::string shown(trimmed(text));
    const std::string plain = compact(text);
    if (plain.empty()) return {std::nullopt, "no horizon designation is written", std::string(remedy_example)};
    try {
        Parsed<Designation> parsed;
        std::vector<std::string> remarks;
        parsed.value = Reader(plain, shown).read(remarks);
        for (const std::string& remark : remarks) parsed.message += (parsed.message.empty() ? "" : "; ") + remark;
        return parsed;
    } catch (const Refusal& refusal) {
        return {std::nullopt, refusal.message, refusal.remedy};
    }
}

Zone zone_of_depth(std::optional<double> top_cm, std::optional<double> bottom_cm) {
    if (!top_cm && !bottom_cm) return Zone::subsoil;
    // A single depth is used as the middle.
    const double middle = top_cm && bottom_cm ? (*top_cm + *bottom_cm) / 2.0 : top_cm.value_or(bottom_cm.value_or(0.0));
    if (middle < 25.0) return Zone::topsoil;
    return middle < 75.0 ? Zone::subsoil : Zone::parent_material;
}

}  // namespace subcrop::field
