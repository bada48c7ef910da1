// Waypoints of a receiver, by name: places for stops that were written down without one.
//
//     WaypointTable waypoints = read_waypoints(file, problems);
//     waypoints.find("01-05")   // index of the waypoint; "0105" and "01 05" are called the same
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/survey_file.hpp"

namespace subcrop::io {

class WaypointTable {
public:
    struct Waypoint {
        std::string name;
        std::int64_t row = 0;
        Point place;  ///< in `crs`
    };

    std::optional<std::size_t> find(std::string_view name) const;
    std::vector<std::string> names() const;
    void add(Waypoint waypoint);

    std::vector<Waypoint> waypoints;
    std::string source;
    std::string name_column;
    std::optional<geo::Crs> crs;

private:
    std::map<std::string, std::size_t> by_name_;
};

/// The file's `waypoints`. Of two with one name the later counts, with a problem. Throws Error if the source cannot be
/// read.
WaypointTable read_waypoints(const SurveyFile& file, ProblemLog& problems);

}  // namespace subcrop::io
