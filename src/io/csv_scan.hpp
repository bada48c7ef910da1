// Faults that a CSV reader ignores silently: a quotation mark that swallows the rows below it, cells beyond the last
// column, text that is no text.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/core/problem.hpp"

namespace subcrop::io {

/// The file, and where its row of names is.
struct TextTable {
    std::filesystem::path path;
    std::uint64_t start = 0;       ///< byte at which that row begins
    std::size_t names_in_row = 1;  ///< and its number
};

/// Reads the file once through. `columns`: how many the reader found. If it separates cells in another way, cells are
/// not counted. Throws Error if a quotation mark never closes, or if the bytes are no plain text. Returns the data rows
/// (counted from 1 without empty lines) with an empty line before them, once for each such line. A spreadsheet counts
/// these lines, the reader does not.
std::vector<std::int64_t> scan_csv(const TextTable& table, std::size_t columns, const Place& place,
                                   const std::string& source, ProblemLog& problems);

}  // namespace subcrop::io
