// Reads the tables of figures in tests/reference: comma-separated, '#' before remarks, a row of names first.
#pragma once

#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace figures {

class Row {
public:
    explicit Row(std::map<std::string, std::string> cells) : cells_(std::move(cells)) {}
    const std::string& text(const std::string& column) const { return cells_.at(column); }
    double number(const std::string& column) const { return std::stod(cells_.at(column)); }

private:
    std::map<std::string, std::string> cells_;
};

inline std::vector<std::string> split(const std::string& line, char separator) {
    std::vector<std::string> parts;
    std::stringstream stream(line);
    for (std::string part; std::getline(stream, part, separator);) parts.push_back(part);
    return parts;
}

inline std::vector<Row> read(const std::string& name) {
    const std::string path = std::string(SUBCROP_SOURCE_DIR) + "/tests/reference/" + name;
    std::ifstream file(path);
    if (!file) throw std::runtime_error("cannot open " + path);
    std::vector<std::string> names;
    std::vector<Row> rows;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line[0] == '#') continue;
        std::vector<std::string> cells = split(line, ',');
        if (names.empty()) {
            names = cells;
            continue;
        }
        std::map<std::string, std::string> row;
        for (std::size_t i = 0; i < names.size(); ++i) row[names[i]] = i < cells.size() ? cells[i] : "";
        rows.emplace_back(row);
    }
    return rows;
}

}  // namespace figures
