#include "publish/csv_text.hpp"

#include <array>
#include <charconv>

namespace subcrop::publish {

std::string csv_text(std::string_view text) {
    std::string cell;
    if (!text.empty() && std::string_view("=+-@\t\r\n").find(text.front()) != std::string_view::npos) cell += '\'';
    cell += text;
    if (cell.find_first_of(",\"\r\n;\t") == std::string::npos) return cell;
    std::string quoted = "\"";
    for (const char c : cell) {
        if (c == '"') quoted += '"';
        quoted += c;
    }
    return quoted + '"';
}

std::string csv_number(double value) {
    std::array<char, 32> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
    return {digits.data(), end};
}

}  // namespace subcrop::publish
