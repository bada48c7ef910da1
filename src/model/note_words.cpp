#include "note_words.hpp"

#include <cctype>

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

}  // namespace subcrop::model
