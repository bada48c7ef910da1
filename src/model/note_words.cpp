#include "note_words.hpp"

#include <array>
#include <cctype>
#include <utility>

namespace subcrop::model {

std::string tidy_words(std::string_view text) {
    std::string tidy;
    for (const char c : text) {
        if (std::isspace(static_cast<unsigned char>(c)) || c == '_') {
            if (!tidy.empty() && tidy.back() != ' ') tidy += ' ';
        } else {
            tidy += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        }
    }
    while (!tidy.empty() && tidy.back() == ' ') tidy.pop_back();
    return tidy;
}

Parsed<std::string> read_effervescence(std::string_view text) {
    static constexpr std::array<std::pair<std::string_view, std::string_view>, 24> words{{
        {"ne", "NE"}, {"none", "NE"}, {"no", "NE"}, {"0", "NE"}, {"nil", "NE"}, {"noneffervescent", "NE"},
        {"non-effervescent", "NE"}, {"no reaction", "NE"},
        {"vs", "VS"}, {"very slight", "VS"}, {"very slightly", "VS"}, {"very weak", "VS"},
        {"sl", "SL"}, {"slight", "SL"}, {"slightly", "SL"}, {"weak", "SL"},
        {"st", "ST"}, {"strong", "ST"}, {"strongly", "ST"}, {"moderate", "ST"},
        {"ve", "VE"}, {"violent", "VE"}, {"violently", "VE"}, {"very strong", "VE"},
    }};
    std::string word = tidy_words(text);
    for (const std::string_view tail : {" effervescent", " effervescence", " reaction"}) {
        if (word.size() > tail.size() && word.ends_with(tail) && word != "no reaction") {
            word.resize(word.size() - tail.size());
        }
    }
    for (const auto& [written, code] : words) {
        if (word == written) return {std::string(code), {}, {}};
    }
    return {std::nullopt, "'" + std::string(text) + "' is no class of reaction to acid",
            "Write NE (none), VS (very slight), SL (slight), ST (strong) or VE (violent)."};
}

}  // namespace subcrop::model
