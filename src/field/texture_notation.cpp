// The reader of texture notes: class codes and names, with what is written before them.
#include <algorithm>
#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <utility>

#include "field/fragment_table.hpp"
#include "field/words.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::field {

namespace {

using enum TextureClass;

struct Spelling {
    std::string_view written;  ///< lower case, no spaces
    TextureClass texture_class;
    bool remark = false;  ///< not a name of the manual, but clear
};

// Codes with the size of the sand written out, names, and common slips. Sizes of sand do not change the class.
// clang-format off
constexpr Spelling spellings[] = {
    {"s", sand}, {"cos", sand}, {"fs", sand}, {"vfs", sand}, {"ms", sand},
    {"ls", loamy_sand}, {"lcos", loamy_sand}, {"lfs", loamy_sand}, {"lvfs", loamy_sand},
    {"sl", sandy_loam}, {"cosl", sandy_loam}, {"fsl", sandy_loam}, {"vfsl", sandy_loam},
    {"l", loam}, {"sil", silt_loam}, {"si", silt}, {"scl", sandy_clay_loam}, {"cl", clay_loam},
    {"sicl", silty_clay_loam}, {"sc", sandy_clay}, {"sic", silty_clay}, {"c", clay},
    {"sand", sand}, {"coarsesand", sand}, {"mediumsand", sand}, {"finesand", sand}, {"veryfinesand", sand},
    {"loamysand", loamy_sand}, {"loamycoarsesand", loamy_sand}, {"loamyfinesand", loamy_sand},
    {"loamyveryfinesand", loamy_sand},
    {"sandyloam", sandy_loam}, {"coarsesandyloam", sandy_loam}, {"finesandyloam", sandy_loam},
    {"veryfinesandyloam", sandy_loam},
    {"loam", loam}, {"siltloam", silt_loam}, {"silt", silt}, {"sandyclayloam", sandy_clay_loam},
    {"clayloam", clay_loam}, {"siltyclayloam", silty_clay_loam}, {"sandyclay", sandy_clay}, {"siltyclay", silty_clay},
    {"clay", clay},
    {"siltyloam", silt_loam, true}, {"loamysilt", silt_loam, true}, {"clayeyloam", clay_loam, true},
    {"siltclayloam", silty_clay_loam, true}, {"siltyclayeyloam", silty_clay_loam, true},
    {"sandclayloam", sandy_clay_loam, true}, {"sandyclayeyloam", sandy_clay_loam, true},
    {"siltclay", silty_clay, true}, {"sandclay", sandy_clay, true}, {"sandloam", sandy_loam, true},
    {"loamsand", loamy_sand, true},
};
// clang-format on

const Spelling* find_spelling(std::string_view written) {
    const auto* found = std::find_if(std::begin(spellings), std::end(spellings),
                                     [&](const Spelling& s) { return s.written == written; });
    return found == std::end(spellings) ? nullptr : found;
}

/// "fine sandy loam", "loamy fine sand"; empty where no size of the sand is written.
std::string name_with_sand(const Spelling& spelling) {
    struct Size {
        std::string_view word, in_code, name;
    };
    // The longer before the shorter that it holds.
    constexpr Size sizes_of_sand[] = {{"veryfine", "vfs", "very fine"},
                                      {"coarse", "cos", "coarse"},
                                      {"medium", "ms", "medium"},
                                      {"fine", "fs", "fine"}};
    for (const Size& size : sizes_of_sand) {
        const bool code = spelling.written.size() <= 4 && spelling.written.find(size.in_code) != std::string_view::npos;
        if (!code && spelling.written.find(size.word) == std::string_view::npos) continue;
        if (spelling.texture_class == loamy_sand) return "loamy " + std::string(size.name) + " sand";
        return std::string(size.name) + ' ' + std::string(name(spelling.texture_class));
    }
    return {};
}

/// No text longer than this names a class.
constexpr std::size_t longest_spelling = [] {
    std::size_t longest = 0;
    for (const Spelling& spelling : spellings) longest = std::max(longest, spelling.written.size());
    return longest;
}();

constexpr std::pair<std::string_view, std::string_view> gravel_sizes[] = {
    {"f", "fine "}, {"m", "medium "}, {"c", "coarse "}};

constexpr std::string_view degrees[] = {"slightly", "very", "extremely"};
constexpr std::string_view sizes[] = {"fine", "medium", "coarse"};

/// "grv" gives "very gravelly".
std::optional<std::string> fragment_code(std::string_view written) {
    for (const auto& [code_text, word, noun, one] : fragment_table) {
        if (written == code_text) return std::string(word);
        for (const auto& [letter, degree] : {std::pair{'v', "very "}, std::pair{'x', "extremely "}}) {
            const bool after = written.size() == 3 && written.starts_with(code_text) && written[2] == letter;
            const bool before = written.size() == 3 && written.ends_with(code_text) && written[0] == letter;
            if (after || before) return degree + std::string(word);
        }
    }
    for (const auto& [letter, size] : gravel_sizes)
        if (written == "gr" + std::string(letter)) return std::string(size) + "gravelly";
    return std::nullopt;
}

bool is_fragment_word(std::string_view word) {
    return std::any_of(fragment_table.begin(), fragment_table.end(),
                       [&](const FragmentWords& f) { return f.adjective == word; });
}

template <class List>
bool is_in(std::string_view word, const List& list) {
    return std::find(std::begin(list), std::end(list), word) != std::end(list);
}

/// Words or a code of coarse fragments as words; none where any word is something else.
std::optional<std::string> read_modifier(const std::vector<std::string>& words_before) {
    std::string modifier;
    bool open = false;  // a degree or size waits for its noun
    for (const std::string& word : words_before) {
        std::string spelt;
        if (is_fragment_word(word)) {
            spelt = word;
            open = false;
        } else if (const auto from_code = fragment_code(word)) {
            spelt = *from_code;
            open = false;
        } else if (is_in(word, degrees) || is_in(word, sizes)) {
            spelt = word;
            open = true;
        } else {
            return std::nullopt;
        }
        modifier += (modifier.empty() ? "" : " ") + spelt;
    }
    if (open) return std::nullopt;
    return modifier;
}

std::string joined(const std::vector<std::string>& list, std::size_t from) {
    std::string text;
    for (std::size_t i = from; i < list.size(); ++i) text += list[i];
    return text;
}

/// The longest end of the note that names a class, the rest being a modifier: "very fine sandy loam" is a class,
/// "very gravelly fine sandy loam" has a modifier.
std::optional<TextureReading> read_words(const std::vector<std::string>& note, const Spelling*& spelling) {
    // Only the last few words can be a class: trying each end of a long note would take the square of its length.
    std::size_t first = note.size();
    for (std::size_t length = 0; first > 0 && length + note[first - 1].size() <= longest_spelling;)
        length += note[--first].size();
    for (std::size_t from = first; from < note.size(); ++from) {
        spelling = find_spelling(joined(note, from));
        if (!spelling) continue;
        const auto modifier = read_modifier({note.begin(), note.begin() + static_cast<std::ptrdiff_t>(from)});
        if (!modifier) return std::nullopt;
        return TextureReading{spelling->texture_class, *modifier, name_with_sand(*spelling)};
    }
    // A code run together: "grvsl".
    if (note.size() == 1) {
        for (const std::size_t length : {std::size_t{3}, std::size_t{2}}) {
            if (note[0].size() <= length) continue;
            const auto modifier = fragment_code(note[0].substr(0, length));
            spelling = find_spelling(note[0].substr(length));
            if (modifier && spelling)
                return TextureReading{spelling->texture_class, *modifier, name_with_sand(*spelling)};
        }
    }
    return std::nullopt;
}

std::string nearest_name(std::string_view written) {
    std::string_view best;
    std::size_t least = std::numeric_limits<std::size_t>::max();
    for (std::size_t i = 0; i < texture_class_count; ++i) {
        const std::string_view candidate = name(static_cast<TextureClass>(i));
        if (written.size() > 2 * candidate.size()) continue;  // too far off, and long notes would cost much
        const std::size_t distance = edit_distance(written, candidate);
        if (distance < least) {
            least = distance;
            best = candidate;
        }
    }
    return least <= std::max<std::size_t>(1, best.size() / 4) ? std::string(best) : std::string();
}

constexpr std::string_view all_codes = "Write one of S, LS, SL, L, SIL, SI, SCL, CL, SICL, SC, SIC, C.";

}  // namespace

Parsed<TextureReading> parse_texture(std::string_view text) {
    const std::string plain = lower(plain_marks(text));
    const std::string shown(trimmed(text));
    if (trimmed(plain).empty()) return {std::nullopt, "no texture is written", std::string(all_codes)};

    Parsed<TextureReading> parsed;
    const auto remark = [&](const std::string& said) { parsed.message += (parsed.message.empty() ? "" : "; ") + said; };

    // Cut at what separates two classes; a hyphen does so only between two classes: "SL-L", but not "GRV-SL",
    // "sandy-loam".
    std::string to_slash;
    const std::vector<std::string> spaced = words(plain, ".,;:()[]?\"");
    for (const std::string& word : spaced) {
        if (word == "to" || word == "or" || word == "and" || word == "&") {
            to_slash += "/ ";
        } else {
            to_slash += word + " ";
        }
    }
    std::vector<std::string> parts;
    for (std::size_t begin = 0; begin <= to_slash.size();) {
        const std::size_t end = std::min(to_slash.find('/', begin), to_slash.size());
        if (const std::string part = single_spaced(to_slash.substr(begin, end - begin)); !part.empty())
            parts.push_back(part);
        begin = end + 1;
    }
    if (parts.empty()) return {std::nullopt, "'" + shown + "' is no texture class", std::string(all_codes)};

    const auto read_part = [](const std::string& part, const Spelling*& spelling) -> std::optional<TextureReading> {
        std::vector<std::string> note = words(part, "-_");
        // Words of stiffness stand beside the class: "heavy clay".
        std::erase_if(note,
                      [](const std::string& word) { return word == "heavy" || word == "light" || word == "texture"; });
        if (note.empty()) return std::nullopt;
        return read_words(note, spelling);
    };

    const Spelling* spelling = nullptr;
    std::optional<TextureReading> reading = read_part(parts.front(), spelling);
    bool several = parts.size() > 1;
    if (!reading) {
        // "SL-L": read up to the first hyphen, if each side is a class.
        if (const auto hyphen = parts.front().find('-'); hyphen != std::string::npos) {
            const Spelling* other = nullptr;
            const auto first = read_part(parts.front().substr(0, hyphen), spelling);
            const auto second = read_part(parts.front().substr(hyphen + 1), other);
            if (first && second) {
                reading = first;
                several = true;
            }
        }
    }
    if (!reading) {
        const std::vector<std::string> note = words(parts.front(), "-_");
        if (!note.empty() && read_modifier(note))
            return {std::nullopt, "'" + shown + "' names coarse fragments but no texture of the fine earth",
                    "Add the class, such as GRV-SL; " + ("w" + std::string(all_codes).substr(1))};
        const std::string meant = nearest_name(parts.front());
        return {std::nullopt, "'" + shown + "' is no texture class",
                meant.empty() ? std::string(all_codes) : "Was '" + meant + "' meant?"};
    }
    if (several)
        remark("two texture classes are written; the first, " + std::string(name(reading->texture_class)) +
               ", is read");
    if (spelling && spelling->remark) remark("read as " + std::string(name(reading->texture_class)));
    parsed.value = std::move(reading);
    return parsed;
}

}  // namespace subcrop::field
