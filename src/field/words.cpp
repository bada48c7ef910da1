#include "field/words.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <utility>

namespace subcrop::field {

namespace {

constexpr std::pair<std::string_view, char> marks[] = {
    {"\u00a0", ' '},  {"\u2000", ' '},  {"\u2001", ' '},  {"\u2002", ' '},  {"\u2003", ' '},  {"\u2004", ' '},
    {"\u2005", ' '},  {"\u2006", ' '},  {"\u2007", ' '},  {"\u2008", ' '},  {"\u2009", ' '},  {"\u200a", ' '},
    {"\u202f", ' '},  {"\u205f", ' '},  {"\u3000", ' '},  {"\u2010", '-'},  {"\u2011", '-'},  {"\u2012", '-'},
    {"\u2013", '-'},  {"\u2014", '-'},  {"\u2015", '-'},  {"\u2212", '-'},  {"\ufe58", '-'},  {"\ufe63", '-'},
    {"\uff0d", '-'},  {"\u2044", '/'},  {"\u2215", '/'},  {"\uff0f", '/'},  {"\u2019", '\''}, {"\u2018", '\''},
    {"\u2032", '\''}, {"\u00b4", '\''}, {"\u02b9", '\''}, {"\uff08", '('},  {"\uff09", ')'},  {"\uff0c", ','},
    {"\u200b", '\0'}, {"\u200c", '\0'}, {"\u200d", '\0'}, {"\u2060", '\0'}, {"\ufeff", '\0'}, {"\u00ad", '\0'},
};

}  // namespace

std::string plain_marks(std::string_view text) {
    std::string plain;
    plain.reserve(text.size());
    for (std::size_t at = 0; at < text.size();) {
        const char c = text[at];
        if (static_cast<unsigned char>(c) < 0x80) {
            plain += (c == '\t' || c == '\n' || c == '\r' || c == '\v' || c == '\f') ? ' ' : c;
            ++at;
            continue;
        }
        const auto mark = std::find_if(std::begin(marks), std::end(marks),
                                       [&](const auto& m) { return text.substr(at).starts_with(m.first); });
        if (mark == std::end(marks)) {
            plain += c;
            ++at;
        } else {
            if (mark->second != '\0') plain += mark->second;
            at += mark->first.size();
        }
    }
    return plain;
}

std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result)
        if (is_upper(c)) c = static_cast<char>(c - 'A' + 'a');
    return result;
}

std::string_view trimmed(std::string_view text) {
    const auto first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::vector<std::string> words(std::string_view text, std::string_view also) {
    std::vector<std::string> result;
    std::string word;
    for (const char c : text) {
        if (c == ' ' || also.find(c) != std::string_view::npos) {
            if (!word.empty()) result.push_back(std::exchange(word, {}));
        } else {
            word += c;
        }
    }
    if (!word.empty()) result.push_back(word);
    return result;
}

std::string single_spaced(std::string_view text) {
    std::string result;
    for (const std::string& word : words(text)) {
        if (!result.empty()) result += ' ';
        result += word;
    }
    return result;
}

// Optimal string alignment.
std::size_t edit_distance(std::string_view first, std::string_view second) {
    std::vector<std::vector<std::size_t>> cost(first.size() + 1, std::vector<std::size_t>(second.size() + 1));
    for (std::size_t i = 0; i <= first.size(); ++i) cost[i][0] = i;
    for (std::size_t j = 0; j <= second.size(); ++j) cost[0][j] = j;
    for (std::size_t i = 1; i <= first.size(); ++i) {
        for (std::size_t j = 1; j <= second.size(); ++j) {
            const std::size_t change = first[i - 1] == second[j - 1] ? 0 : 1;
            cost[i][j] = std::min({cost[i - 1][j] + 1, cost[i][j - 1] + 1, cost[i - 1][j - 1] + change});
            if (i > 1 && j > 1 && first[i - 1] == second[j - 2] && first[i - 2] == second[j - 1])
                cost[i][j] = std::min(cost[i][j], cost[i - 2][j - 2] + 1);
        }
    }
    return cost[first.size()][second.size()];
}

std::string plain_number(double number, int max_decimals) {
    std::array<char, 64> buffer{};
    if (std::abs(number) >= 1e15) {
        std::snprintf(buffer.data(), buffer.size(), "%g", number);
        return buffer.data();
    }
    std::snprintf(buffer.data(), buffer.size(), "%.*f", max_decimals, number);
    std::string text = buffer.data();
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text == "-0" ? "0" : text;
}

}  // namespace subcrop::field
