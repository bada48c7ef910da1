#include "io/csv_scan.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <fstream>
#include <string_view>
#include <utility>

#include "io/text_values.hpp"

namespace subcrop::io {

namespace {

/// The mark most often used between the names of the header.
char separator_of(std::string_view header) {
    constexpr std::array<char, 4> marks = {',', ';', '\t', '|'};
    char best = marks.front();
    std::ptrdiff_t most = -1;
    for (const char mark : marks) {
        const auto count = std::count(header.begin(), header.end(), mark);
        if (count > most) {
            best = mark;
            most = count;
        }
    }
    return best;
}

/// Where the cell after number `cells` begins; npos where there are no more than that.
std::size_t end_of_cells(std::string_view record, char separator, std::size_t cells) {
    bool quoted = false;
    std::size_t count = 1;
    for (std::size_t i = 0; i < record.size(); ++i) {
        if (record[i] == '"') quoted = !quoted;
        if (quoted || record[i] != separator) continue;
        if (count == cells) return i + 1;
        ++count;
    }
    return std::string_view::npos;
}

/// True where a quotation mark opens within a cell or closes before its end: `6" deep`, `"high" grass`.
bool stray_quotation_mark(std::string_view record, char separator) {
    bool quoted = false;
    for (std::size_t i = 0; i < record.size(); ++i) {
        if (record[i] != '"') continue;
        if (!quoted) {
            if (i > 0 && record[i - 1] != separator) return true;
            quoted = true;
        } else if (i + 1 < record.size() && record[i + 1] == '"') {
            ++i;  // two of them mean one
        } else {
            if (i + 1 < record.size() && record[i + 1] != separator) return true;
            quoted = false;
        }
    }
    return quoted;
}

class Scan {
public:
    Scan(std::size_t columns, std::size_t names_in_row, const Place& place, const std::string& source,
         ProblemLog& problems)
        : columns_(columns),
          names_in_row_(names_in_row),
          place_(place),
          source_(source),
          problems_(problems),
          line_(names_in_row - 1) {}

    void line(std::string_view text) {
        ++line_;
        if (text.find('\0') != std::string_view::npos) {
            throw Error(place_, "line " + std::to_string(line_) + " holds zero bytes, which no plain text has",
                        "Save the table again as CSV in UTF-8.");
        }
        if (!open_) {
            record_ = text;
            first_line_ = line_;
        } else {
            record_ += '\n';
            record_ += text;
        }
        if (std::count(text.begin(), text.end(), '"') % 2 != 0) open_ = !open_;
        if (!open_) record();
    }

    std::vector<std::int64_t> end() {
        if (!open_) return std::move(empty_before_);
        throw Error(place_,
                    "line " + std::to_string(first_line_) +
                        ": a quotation mark opens there and never closes, so the rows below it cannot be separated",
                    "Close it, or take it out.");
    }

private:
    void record() {
        if (record_.empty()) {  // empty lines are no rows
            empty_before_.push_back(row_ + 1);
            return;
        }
        if (!header_read_) {
            header_read_ = true;
            separator_ = separator_of(record_);
            // Parted otherwise than by the reader: then nothing can be said of the cells.
            counted_ = end_of_cells(record_, separator_, columns_) == std::string_view::npos &&
                       (columns_ < 2 || end_of_cells(record_, separator_, columns_ - 1) != std::string_view::npos);
            return;
        }
        ++row_;
        if (!counted_) return;
        if (line_ > first_line_ && stray_quotation_mark(record_, separator_)) {
            throw Error(place_,
                        "line " + std::to_string(first_line_) +
                            ": a quotation mark within a cell joins the lines down to line " + std::to_string(line_) +
                            " into one row",
                        "Take it out; a mark for inches is better written as 'in'.");
        }
        const std::size_t beyond = end_of_cells(record_, separator_, columns_);
        if (beyond == std::string_view::npos) return;
        std::string_view rest = std::string_view(record_).substr(beyond);
        while (!rest.empty() && (rest.back() == separator_ || rest.back() == ' ' || rest.back() == '\t'))
            rest.remove_suffix(1);
        if (trimmed(rest).empty()) return;
        const std::string mark = separator_ == '\t' ? "a tab" : std::string("'") + separator_ + "'";
        report(
            Severity::warning, std::string(trimmed(rest)),
            "the row has more cells than the header has columns; the rest is not read, and cells may be in the wrong "
            "columns",
            "Put a cell that holds " + mark + " itself in quotation marks.");
    }

    void report(Severity severity, std::string value, std::string message, std::string remedy) {
        problems_.add({.severity = severity,
                       .source = source_,
                       .row = row_ + static_cast<std::int64_t>(names_in_row_ + empty_before_.size()),
                       .field = {},
                       .value = std::move(value),
                       .message = std::move(message),
                       .remedy = std::move(remedy),
                       .position = std::nullopt});
    }

    std::size_t columns_;
    std::size_t names_in_row_;
    const Place& place_;
    const std::string& source_;
    ProblemLog& problems_;
    std::string record_;
    char separator_ = ',';
    bool header_read_ = false;
    bool counted_ = false;
    bool open_ = false;  ///< within quotation marks at the end of the last line
    std::size_t line_;
    std::size_t first_line_ = 0;
    std::int64_t row_ = 0;
    std::vector<std::int64_t> empty_before_;
};

}  // namespace

std::vector<std::int64_t> scan_csv(const TextTable& table, std::size_t columns, const Place& place,
                                   const std::string& source, ProblemLog& problems) {
    std::ifstream in(table.path, std::ios::binary);
    in.seekg(static_cast<std::streamoff>(table.start));
    Scan scan(columns, table.names_in_row, place, source, problems);
    std::string line;
    while (std::getline(in, line)) {
        if (line.ends_with('\r')) line.pop_back();
        scan.line(line);
    }
    return scan.end();
}

}  // namespace subcrop::io
