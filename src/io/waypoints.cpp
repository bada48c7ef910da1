#include "io/waypoints.hpp"

#include <utility>

#include "io/nearest_name.hpp"
#include "io/point_reader.hpp"
#include "io/source_crs.hpp"
#include "io/table.hpp"

namespace subcrop::io {

namespace {

/// Letters and digits in lower case: receivers change case and drop marks.
std::string plain(std::string_view name) {
    std::string result;
    for (const char c : lower(name)) {
        const bool kept = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80;
        if (kept) result += c;
    }
    return result;
}

}  // namespace

std::optional<std::size_t> WaypointTable::find(std::string_view name) const {
    const auto found = by_name_.find(plain(name));
    return found == by_name_.end() ? std::nullopt : std::optional(found->second);
}

std::vector<std::string> WaypointTable::names() const {
    std::vector<std::string> all;
    for (const Waypoint& waypoint : waypoints) all.push_back(waypoint.name);
    return all;
}

void WaypointTable::add(Waypoint waypoint) {
    by_name_[plain(waypoint.name)] = waypoints.size();
    waypoints.push_back(std::move(waypoint));
}

WaypointTable read_waypoints(const SurveyFile& file, ProblemLog& problems) {
    SourceDescription description = *file.waypoints;
    if (description.layer.empty() && lower(description.source).ends_with(".gpx")) description.layer = "waypoints";
    Table table(open_layer(file, description), description, "waypoints", problems);
    WaypointTable result;
    result.source = table.source();
    PointReader points(table, description, "waypoint");
    result.crs = source_crs(file, description, table);
    points.expect(*result.crs);
    const Column name = table.require("name");
    result.name_column = name.name;
    while (table.next()) {
        const auto place = points.read();
        if (!place) continue;
        const std::string called(table.text(name));
        if (called.empty()) continue;  // nobody asks for it
        if (const auto other = result.find(called)) {
            table.report(Severity::warning, name, called,
                         "waypoint '" + result.waypoints[*other].name + "' (row " +
                             std::to_string(result.waypoints[*other].row) + ") has this name too; the later one counts",
                         "Give each waypoint a name of its own.");
        }
        result.add({called, table.row(), *place});
    }
    return result;
}

}  // namespace subcrop::io
