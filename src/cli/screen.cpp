#include "cli/screen.hpp"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <map>
#include <tuple>
#include <utility>

#include "cli/visible.hpp"

namespace subcrop::cli {

namespace {

constexpr std::size_t longest_value = 60;

/// The first characters of a long value.
std::string clipped(std::string_view value) {
    if (width_of(value) <= longest_value) return std::string(value);
    std::size_t end = 0, characters = 0;
    while (end < value.size()) {
        if ((static_cast<unsigned char>(value[end]) & 0xC0U) != 0x80U && ++characters > longest_value) break;
        ++end;
    }
    return std::string(value.substr(0, end)) + "...";
}

/// "row 3", "rows 3, 7 and 9", "rows 3, 7, 9, 12, 15 and 95 more"; empty where there is none.
std::string rows_of(const std::vector<const Problem*>& problems) {
    constexpr std::size_t max_rows = 5;
    if (!problems.front()->row) return {};
    const std::size_t named = problems.size() <= max_rows + 1 ? problems.size() : max_rows;
    std::string text = problems.size() > 1 ? "rows " : "row ";
    for (std::size_t i = 0; i < named; ++i) {
        if (i > 0) text += i + 1 == problems.size() ? " and " : ", ";
        text += std::to_string(*problems[i]->row);
    }
    if (named < problems.size()) text += " and " + grouped(problems.size() - named) + " more";
    return text;
}

}  // namespace

std::size_t width_of(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::size_t screen_width() {
    winsize size{};
    if (isatty(STDOUT_FILENO) == 0 || ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0) return 100;
    return std::clamp<std::size_t>(size.ws_col, 60, 120);
}

std::string wrapped(std::string_view data, std::size_t indent, std::size_t width) {
    const std::string shown = visible(data);
    std::string_view text = shown;
    const std::size_t room = std::max<std::size_t>(width > indent ? width - indent : 0, 24);
    std::string result;
    std::size_t column = 0;
    while (!text.empty()) {
        const std::size_t space = text.find(' ');
        const std::string_view word = text.substr(0, space);
        text.remove_prefix(space == std::string_view::npos ? text.size() : space + 1);
        if (word.empty()) continue;
        if (column > 0 && column + 1 + width_of(word) > room) {
            result += '\n' + std::string(indent, ' ');
            column = 0;
        } else if (column > 0) {
            result += ' ';
            ++column;
        }
        result += word;
        column += width_of(word);
    }
    return result;
}

void print_pairs(std::ostream& out, const std::vector<std::pair<std::string, std::string>>& rows, std::size_t width) {
    std::size_t names = 0;
    for (const auto& [name, text] : rows) names = std::max(names, width_of(visible(name)));
    names = std::min<std::size_t>(names, 28);
    for (const auto& [data, text] : rows) {
        const std::string name = visible(data);
        const std::size_t pad = names > width_of(name) ? names - width_of(name) : 0;
        out << "  " << name << std::string(pad + 2, ' ') << wrapped(text, names + 4, width) << '\n';
    }
}

std::string grouped(std::size_t count) {
    std::string text = std::to_string(count);
    for (std::size_t at = text.size(); at > 3;) text.insert(at -= 3, 1, ',');
    return text;
}

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
    return grouped(count) + ' ' + std::string(count == 1 ? one : many);
}

std::string sentence(const Problem& problem) {
    return sentence(problem, problem.row ? "row " + std::to_string(*problem.row) : std::string());
}

std::string sentence(const Problem& problem, const std::string& rows) {
    const std::string value = clipped(problem.value);
    std::string message = problem.message, remedy = problem.remedy;
    if (value.size() < problem.value.size()) {
        for (std::string* part : {&message, &remedy}) {
            const auto at = part->find(problem.value);
            if (at != std::string::npos) part->replace(at, problem.value.size(), value);
        }
    }
    std::string text = problem.source;
    for (const std::string& part : {rows, problem.field.empty() ? problem.field : "field " + problem.field}) {
        if (!part.empty()) text += (text.empty() ? "" : ", ") + part;
    }
    // Said once: many a message quotes the value itself.
    if (!value.empty() && message.find('\'' + value + '\'') == std::string::npos) {
        text += (text.empty() ? "'" : ", '") + value + "'";
    }
    if (problem.position && rows.empty()) {  // no row to look up
        char place[64];
        std::snprintf(place, sizeof place, "at x %.0f, y %.0f", problem.position->x, problem.position->y);
        text += (text.empty() ? "" : ", ") + std::string(place);
    }
    if (!text.empty()) text += ": ";
    text += message;
    if (!remedy.empty())
        text += (text.ends_with('.') ? " " : ". ") + remedy;
    else if (!text.ends_with('.'))
        text += '.';
    return text;
}

std::string problem_counts(std::size_t errors, std::size_t warnings, std::size_t notes) {
    std::string text;
    auto add = [&text](std::size_t count, const char* one, const char* many) {
        if (count == 0) return;
        if (!text.empty()) text += ", ";
        text += counted(count, one, many);
    };
    add(errors, "error", "errors");
    add(warnings, "warning", "warnings");
    add(notes, "note", "notes");
    return text;
}

void print_operations(std::ostream& out, const std::vector<model::CoordinateOperation>& operations, std::size_t width) {
    if (operations.empty()) return;
    std::vector<std::pair<std::string, std::string>> rows;
    for (const model::CoordinateOperation& operation : operations) {
        std::string text;
        if (operation.from == operation.to) {
            text = operation.to + ", not transformed";
        } else {
            text = operation.from + " to " + operation.to + " by " + operation.name;
            if (operation.accuracy_m) {
                char metres[40];
                std::snprintf(metres, sizeof metres, ", accurate to %.3g m", *operation.accuracy_m);
                text += *operation.accuracy_m > 0 ? metres : ", exact";
            } else {
                text += ", accuracy not published";
            }
            if (operation.ballpark) text += "; WITHOUT the datum shift it needs: it may be off by hundreds of metres";
        }
        rows.emplace_back(operation.source, text);
    }
    out << "\nCoordinates\n";
    print_pairs(out, rows, width);
}

void print_problems(std::ostream& out, const std::vector<Problem>& problems, std::size_t most, std::size_t total,
                    std::string_view where_all, std::size_t width) {
    // Rows with one and the same mistake share a sentence, in the place of the first.
    std::vector<std::vector<const Problem*>> groups;
    std::map<std::tuple<Severity, std::string_view, std::string_view, std::string_view, std::string_view>, std::size_t>
        known;
    std::size_t told = 0;
    for (const Problem& problem : problems) {
        if (problem.row) {
            const auto [group, fresh] = known.try_emplace(
                {problem.severity, problem.source, problem.field, problem.value, problem.message}, groups.size());
            if (!fresh) {
                groups[group->second].push_back(&problem);
                if (group->second < most) ++told;
                continue;
            }
        }
        if (groups.size() < most) ++told;
        groups.push_back({&problem});
    }
    std::vector<std::pair<std::string, std::string>> sentences;
    for (const auto& group : groups) {
        if (sentences.size() == most) break;
        sentences.emplace_back(to_string(group.front()->severity), sentence(*group.front(), rows_of(group)));
    }
    print_pairs(out, sentences, width);
    if (total > told) out << "  and " << grouped(total - told) << " more" << where_all << '\n';
}

}  // namespace subcrop::cli
