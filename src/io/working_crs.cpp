#include "io/working_crs.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "io/text_values.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::io {

namespace {

bool in_metres(const geo::Crs& crs) { return crs.projected() && std::abs(crs.metres_per_unit() - 1) < 1e-9; }

/// Middle of the stops that no single stray place can pull away.
Point middle_of(const std::vector<model::Stop>& stops) {
    std::vector<double> x, y;
    for (const model::Stop& stop : stops) {
        x.push_back(stop.position.x);
        y.push_back(stop.position.y);
    }
    const auto half = static_cast<std::ptrdiff_t>(x.size() / 2);
    std::nth_element(x.begin(), x.begin() + half, x.end());
    std::nth_element(y.begin(), y.begin() + half, y.end());
    return {x[static_cast<std::size_t>(half)], y[static_cast<std::size_t>(half)]};
}

geo::Crs utm_zone_at(const geo::Crs& crs, Point place, const Place& where) {
    std::array<Point, 1> centre = {place};
    if (!crs.geographic()) {
        const geo::Crs degrees("EPSG:4326");
        // A zone is six degrees wide: no datum shift can matter here.
        const geo::Transformation to_degrees(crs, degrees, centre, {.allow_ballpark = true, .source = where.source});
        if (to_degrees.apply(centre)[0] == 0) {
            throw Error(where,
                        "its coordinates, such as (" + number_text(place.x) + ", " + number_text(place.y) +
                            "), do not fit " + crs.name(),
                        "Check the key 'crs'.");
        }
    }
    if (std::abs(centre[0].y) > 90 || std::abs(centre[0].x) > 360) {
        throw Error(where,
                    "its coordinates, such as (" + number_text(place.x) + ", " + number_text(place.y) +
                        "), are not degrees, as " + crs.name() + " has them",
                    "Give the system they are in with the key 'crs'.");
    }
    return geo::utm_zone_of(centre[0].x, centre[0].y);
}

}  // namespace

geo::Crs working_crs(const SurveyFile& file, const MapTable* map, const StopTable& stops, ProblemLog& problems) {
    if (!file.crs.empty()) {
        const Place place{.source = file.path.string(), .field = "crs"};
        std::optional<geo::Crs> stated;
        try {
            stated.emplace(file.crs);
        } catch (const Error& problem) {
            throw Error(place, problem.message(), problem.remedy());
        }
        if (stated->geographic()) {
            throw Error(place, stated->name() + " is in degrees, and the working projection must be in metres",
                        "Name a projected system such as a UTM zone, or leave the key out.");
        }
        if (!in_metres(*stated)) {
            throw Error(place, stated->name() + " is not a projection in metres",
                        "Name one that is, such as a UTM zone, or leave the key out.");
        }
        return *stated;
    }
    if (map == nullptr) {
        if (in_metres(*stops.crs)) return *stops.crs;
        return utm_zone_at(*stops.crs, middle_of(stops.stops), stops.place);
    }
    if (in_metres(*map->crs)) return *map->crs;
    const Point centre{(map->box.min_x + map->box.max_x) / 2, (map->box.min_y + map->box.max_y) / 2};
    geo::Crs zone = utm_zone_at(*map->crs, centre, map->place);
    if (map->crs->projected()) {
        problems.add({.severity = Severity::note,
                      .source = map->source,
                      .row = std::nullopt,
                      .field = {},
                      .value = map->crs->name(),
                      .message = "the map is not in metres; the survey is calculated in " + zone.name(),
                      .remedy = "Name another working projection in metres with the key 'crs' if you wish.",
                      .position = std::nullopt});
    }
    return zone;
}

}  // namespace subcrop::io
