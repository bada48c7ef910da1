#include "publish/map_colours.hpp"

#include <array>

namespace subcrop::publish {

namespace {

constexpr std::array<const char*, 9> spare{"#88ccee", "#ddcc77", "#cc6677", "#117733", "#aa4499",
                                           "#44aa99", "#999933", "#882255", "#332288"};

}  // namespace

std::string unit_colour(const model::Survey& survey, std::size_t unit) {
    const std::string& stated = survey.units[unit].colour;
    const bool is_colour = stated.size() == 7 && stated[0] == '#' &&
                           stated.find_first_not_of("0123456789abcdefABCDEF", 1) == std::string::npos;
    return is_colour ? stated : spare[unit % spare.size()];
}

std::string escaped(std::string_view text) {
    constexpr std::string_view unknown = "\xEF\xBF\xBD";
    std::string result;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (const std::string_view next = text.substr(i, 3); next == "\xEF\xBF\xBE" || next == "\xEF\xBF\xBF") {
            result += unknown;
            i += 2;
            continue;
        }
        switch (c) {
            case '&':
                result += "&amp;";
                break;
            case '<':
                result += "&lt;";
                break;
            case '>':
                result += "&gt;";
                break;
            case '"':
                result += "&quot;";
                break;
            default:
                if (static_cast<unsigned char>(c) >= 0x20)
                    result += c;
                else if (c == '\t' || c == '\n' || c == '\r')
                    result += ' ';
                else
                    result += unknown;
        }
    }
    return result;
}

}  // namespace subcrop::publish
