// A survey in a folder of its own, written by a test from texts and removed afterwards.
#pragma once

#include <gmock/gmock.h>

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/io/survey_reader.hpp"

namespace subcrop::io {

class ScratchFolder {
public:
    ScratchFolder();
    ~ScratchFolder();
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;

    const std::filesystem::path& path() const { return path_; }
    std::filesystem::path write(const std::string& name, std::string_view bytes) const;
    /// Writes a layer of a GeoJSON text in another format of GDAL's.
    void translate(const std::string& geojson, const std::string& driver, const std::string& name,
                   const std::vector<std::string>& options = {}) const;

private:
    std::filesystem::path path_;
};

struct ReadSurvey {
    model::Survey survey;
    std::vector<Problem> problems;
};

/// Writes `json` as survey.json and reads all it names.
ReadSurvey read_all(const ScratchFolder& folder, std::string_view json, unsigned threads = 2);

/// The text of the Error that reading throws; a test failure and empty when it throws none.
std::string error_of(const ScratchFolder& folder, std::string_view json);

/// One line a problem: "warning stops.csv 3 clay_pct '140': message | remedy".
std::string line_of(const Problem& problem);
std::vector<std::string> lines_of(const std::vector<Problem>& problems);

/// A map of two squares in EPSG:32633, "Kd" west and "Jl" east of x = 501000, from (500000, 5200000), each 1 km.
extern const char* const two_squares;
/// Its mention in a survey file.
extern const char* const two_squares_json;

}  // namespace subcrop::io
