#include "subcrop/field/written_date.hpp"

#include <array>
#include <chrono>
#include <cstdio>
#include <optional>
#include <vector>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

constexpr std::array<std::string_view, 12> months = {"january",   "february", "march",    "april",
                                                     "may",       "june",     "july",     "august",
                                                     "september", "october",  "november", "december"};
constexpr std::array<std::string_view, 12> romans = {"i",   "ii",   "iii", "iv", "v",  "vi",
                                                     "vii", "viii", "ix",  "x",  "xi", "xii"};
constexpr std::array<std::string_view, 7> weekdays = {"monday", "tuesday",  "wednesday", "thursday",
                                                      "friday", "saturday", "sunday"};
constexpr std::size_t longest = 60;

/// Index of the name, whole or of its first three letters or more ("Sept"); -1: none.
template <std::size_t n>
int index_of(const std::array<std::string_view, n>& names, std::string_view word) {
    for (std::size_t i = 0; i < n; ++i)
        if (word.size() >= 3 && names[i].starts_with(word)) return static_cast<int>(i);
    return -1;
}

struct Part {
    std::string text;  ///< lower case
    bool number = false;
    int value = 0;
};

int days_in(int year, int month) {
    return static_cast<int>(static_cast<unsigned>((std::chrono::year(year) / month / std::chrono::last).day()));
}

Parsed<std::string> refused(std::string message,
                            std::string remedy = "Write it as year, month and day, such as 2026-05-12.") {
    return {std::nullopt, std::move(message), std::move(remedy)};
}

/// "14:30" or "14:30:05" at `i`, moved behind it with a zone; empty: none.
std::string time_at(std::string_view text, std::size_t& i) {
    std::size_t end = i;
    while (end < text.size() && (is_digit(text[end]) || text[end] == ':')) ++end;
    const std::string_view time = text.substr(i, end - i);
    if (time.find(':') == std::string_view::npos) return {};
    i = end;
    while (i < text.size() && (is_digit(text[i]) || text[i] == '.' || text[i] == '+' || text[i] == '-' ||
                               text[i] == ':' || text[i] == 'Z' || text[i] == 'z'))
        ++i;
    return std::string(time);
}

/// "2:30" in the afternoon is "14:30"; empty: the clock has no such hour.
std::string by_half_of_day(const std::string& time, bool afternoon) {
    const auto colon = time.find(':');
    if (colon == 0 || colon > 2) return {};
    const int hour = std::stoi(time.substr(0, colon));
    if (hour < 1 || hour > 12) return {};
    const std::string of_day = std::to_string(hour % 12 + (afternoon ? 12 : 0));
    return (of_day.size() < 2 ? "0" : "") + of_day + time.substr(colon);
}

Parsed<std::string> dated(int year, int month, int day, const std::string& time) {
    if (month < 1 || month > 12) return refused("there is no month " + std::to_string(month));
    if (day < 1 || day > days_in(year, month)) return refused("this month has no day " + std::to_string(day));
    char text[48];
    std::snprintf(text, sizeof text, "%04d-%02d-%02d", year, month, day);
    return {text + (time.empty() ? std::string() : ' ' + time), {}, {}};
}

std::string day_of(int day, int month) {
    std::string name(months[static_cast<std::size_t>(month - 1)]);
    name[0] = static_cast<char>(name[0] - 'a' + 'A');
    return std::to_string(day) + ' ' + name;
}

}  // namespace

Parsed<std::string> read_date(std::string_view text) {
    if (text.size() > longest) return refused("this is too long for a date");
    std::vector<Part> parts;
    std::string time, marks;
    for (std::size_t i = 0; i < text.size();) {
        if (const std::string found = time_at(text, i); !found.empty()) {
            if (!time.empty()) return refused("there are two times of day in it");
            time = found;
            continue;
        }
        Part part;
        const std::size_t from = i;
        if (is_digit(text[i])) {
            while (i < text.size() && is_digit(text[i])) ++i;
            part.number = true;
        } else if (is_letter(text[i])) {
            while (i < text.size() && is_letter(text[i])) ++i;
        } else if (std::string_view(" ,./-\t").find(text[i]) != std::string_view::npos) {
            if (text[i] != ' ') marks += text[i];
            ++i;
            continue;
        } else {
            return refused("this is no date");
        }
        part.text = lower(text.substr(from, i - from));
        if (part.number && part.text.size() > 8) return refused("this is no date");
        if (part.number) part.value = std::stoi(part.text);
        const bool behind_number = !parts.empty() && parts.back().number && from > 0 && is_digit(text[from - 1]);
        if (behind_number && (part.text == "st" || part.text == "nd" || part.text == "rd" || part.text == "th"))
            continue;                                     // "12th"
        if (part.text == "t" && behind_number) continue;  // "2026-05-12T14:30"
        if (!time.empty() && (part.text == "am" || part.text == "pm")) {
            time = by_half_of_day(time, part.text == "pm");
            if (time.empty()) return refused("there is no such time of day");
            continue;
        }
        if (!time.empty() && (part.text == "uhr" || part.text == "h")) continue;
        if (part.text == "of" || (!part.number && index_of(weekdays, part.text) >= 0)) continue;
        parts.push_back(std::move(part));
    }
    if (parts.size() == 1 && parts[0].number && parts[0].text.size() == 8)
        return dated(parts[0].value / 10'000, parts[0].value / 100 % 100, parts[0].value % 100, time);
    std::optional<int> month;
    std::vector<Part> numbers;
    for (std::size_t k = 0; k < parts.size(); ++k) {
        const Part& part = parts[k];
        if (part.number) {
            numbers.push_back(part);
            continue;
        }
        int named = index_of(months, part.text);
        if (k > 0 && named < 0)
            for (std::size_t m = 0; m < romans.size(); ++m)
                if (part.text == romans[m]) named = static_cast<int>(m);
        if (named < 0) return refused("'" + part.text + "' is no month");
        if (month) return refused("there are two months in it");
        month = named + 1;
    }
    const auto is_year = [](const Part& part) { return part.text.size() == 4; };
    if (month) {
        if (numbers.size() == 1 && !is_year(numbers[0]))
            return refused("the date lacks its year", "Write the year too, such as 2026-05-12.");
        if (numbers.size() != 2)
            return refused(numbers.size() < 2 ? "the date lacks its day"
                                              : "there are too many numbers in it for a date");
        const bool first = is_year(numbers[0]), second = is_year(numbers[1]);
        if (first == second)
            return refused("the year does not have four digits",
                           "Write the year with four digits, such as 2026-05-12.");
        return dated(numbers[first ? 0 : 1].value, *month, numbers[first ? 1 : 0].value, time);
    }
    if (numbers.size() == 2) {
        return is_year(numbers[0]) || is_year(numbers[1])
                   ? refused("the date lacks its day")
                   : refused("the date lacks its year", "Write the year too, such as 2026-05-12.");
    }
    if (numbers.size() != 3) return refused("this is no date");
    if (is_year(numbers[0])) return dated(numbers[0].value, numbers[1].value, numbers[2].value, time);
    if (!is_year(numbers[2]))
        return refused("the year does not have four digits", "Write the year with four digits, such as 2026-05-12.");
    const int a = numbers[0].value, b = numbers[1].value, year = numbers[2].value;
    if (a > 12 || a == b) return dated(year, b, a, time);
    if (b > 12) return dated(year, a, b, time);
    if (a < 1 || b < 1) return refused("this is no date");
    // With points the day comes first wherever dates are written so (common practice, no source).
    if (marks == "..") return dated(year, b, a, time);
    return refused("this may be " + day_of(a, b) + " or " + day_of(b, a));
}

std::optional<std::int64_t> seconds_of(std::string_view text) {
    int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0;
    const std::string copy(text.substr(0, longest));
    const int read = std::sscanf(copy.c_str(), "%4d-%2d-%2d %2d:%2d:%2d", &year, &month, &day, &hour, &minute, &second);
    if (read < 5 || year < 1900 || month < 1 || month > 12 || day < 1 || day > days_in(year, month))
        return std::nullopt;
    if (hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 60) return std::nullopt;
    const std::chrono::sys_days date = std::chrono::year(year) / month / day;
    return static_cast<std::int64_t>(date.time_since_epoch().count()) * 86'400 + hour * 3600 + minute * 60 + second;
}

}  // namespace subcrop::field
