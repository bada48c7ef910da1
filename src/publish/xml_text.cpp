#include "publish/xml_text.hpp"

#include <cstddef>

namespace subcrop::publish {

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
