#include "subcrop/field/effervescence.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include "field/words.hpp"

namespace subcrop::field {

std::span<const EffervescenceClass> effervescence_classes() {
    static constexpr std::array<EffervescenceClass, 5> classes{{
        {"NE", "none: no bubbles"},
        {"VS", "very slight: few bubbles"},
        {"SL", "slight: bubbles readily seen"},
        {"ST", "strong: bubbles form a low foam"},
        {"VE", "violent: thick foam forms at once"},
    }};
    return classes;
}

Parsed<std::string> read_effervescence(std::string_view text) {
    static constexpr std::array<std::pair<std::string_view, std::string_view>, 24> spellings{{
        {"ne", "NE"},
        {"none", "NE"},
        {"no", "NE"},
        {"0", "NE"},
        {"nil", "NE"},
        {"noneffervescent", "NE"},
        {"non-effervescent", "NE"},
        {"no reaction", "NE"},
        {"vs", "VS"},
        {"very slight", "VS"},
        {"very slightly", "VS"},
        {"very weak", "VS"},
        {"sl", "SL"},
        {"slight", "SL"},
        {"slightly", "SL"},
        {"weak", "SL"},
        {"st", "ST"},
        {"strong", "ST"},
        {"strongly", "ST"},
        {"moderate", "ST"},
        {"ve", "VE"},
        {"violent", "VE"},
        {"violently", "VE"},
        {"very strong", "VE"},
    }};
    std::string plain = lower(plain_marks(text));
    std::replace(plain.begin(), plain.end(), '_', ' ');
    std::string word = single_spaced(plain);
    for (const std::string_view tail : {" effervescent", " effervescence", " reaction"}) {
        if (word.size() > tail.size() && word.ends_with(tail) && word != "no reaction") {
            word.resize(word.size() - tail.size());
        }
    }
    if (!word.empty() && word.find_first_not_of('-') == std::string::npos) return {};
    for (const auto& [written, code] : spellings) {
        if (word == written) return {std::string(code), {}, {}};
    }
    return {std::nullopt, "'" + std::string(text) + "' is no class of reaction to acid",
            "Write NE (none), VS (very slight), SL (slight), ST (strong) or VE (violent)."};
}

}  // namespace subcrop::field
