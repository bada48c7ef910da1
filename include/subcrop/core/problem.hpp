// A bad record is a Problem, not an exception: it reaches the screen, the `problems` layer and the report, and the good
// fields of the record are still used.
//
//     log.add({.severity = Severity::warning, .source = "stops.csv", .row = 12, .field = "colour_moist",
//              .value = "10XR 5/6", .message = "no Munsell hue is written '10XR'",
//              .remedy = "Write the hue as a number and letters, such as 10YR.", .position = {}});
#pragma once

#include <cstddef>
#include <cstdint>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

enum class Severity : std::uint8_t {
    note,     ///< read in a way worth knowing; nothing lost
    warning,  ///< one value is left out, the rest is used; or used, but probably a mistake
    error,    ///< the record as a whole cannot be used
};

std::string_view to_string(Severity severity);

struct Problem {
    Severity severity = Severity::warning;
    std::string source;  ///< file, with the layer after a colon where the file has several
    /// As the user finds it in the source. CSV and spreadsheets: the headings are row 1. GeoPackage and databases: the
    /// feature id. Shapefiles, dBase tables and files without ids: the record, counted from 1.
    std::optional<std::int64_t> row;
    std::string field;
    std::string value;              ///< as it was written
    std::string message;            ///< what is wrong; a sentence without its full stop
    std::string remedy;             ///< how to correct it; a sentence with its full stop
    std::optional<Point> position;  ///< in the working projection, where known
    std::string stop = {};          ///< id of the stop or borehole it belongs to, as written there; empty: none
};

/// Collects problems from any thread. Reading is for one thread, after the writing.
class ProblemLog {
public:
    void add(Problem problem);
    /// Sorted: errors first, then by source, row and field, so that thread timing never shows.
    std::vector<Problem> sorted() const;
    std::size_t count(Severity severity) const;
    std::size_t size() const;

private:
    mutable std::mutex mutex_;
    std::vector<Problem> problems_;
};

}  // namespace subcrop
SUBCROP_EXPORT_END
