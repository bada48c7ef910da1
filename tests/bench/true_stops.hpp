// What truly lies at the stops of an invented survey.
#pragma once

#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

namespace subcrop::bench {

struct TrueStop {
    std::string unit, draft_unit;  ///< codes
    double own_soil = 1;           ///< share of its soil that formed where it lies
};

/// By the stop's id, from the table truth_stops.csv that scripts/make_sampledata writes.
inline std::map<std::string, TrueStop> read_true_stops(const std::filesystem::path& path) {
    std::ifstream file(path);
    std::map<std::string, TrueStop> truth;
    std::string line;
    std::getline(file, line);
    while (std::getline(file, line)) {
        std::istringstream stream(line);
        std::vector<std::string> cells;
        for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
        truth[cells[0]] = {cells[3], cells[5], std::stod(cells[7])};
    }
    return truth;
}

}  // namespace subcrop::bench
