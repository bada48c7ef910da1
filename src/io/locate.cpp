#include "io/locate.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iterator>
#include <memory>
#include <set>
#include <utility>

#include "io/polygon_repair.hpp"
#include "io/polygon_screen.hpp"
#include "io/text_values.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::io {

namespace {

/// Enough to find the operations that serve the area.
constexpr std::size_t sample_size = 2000;

bool possible(const geo::Crs& crs, Point p) {
    if (!std::isfinite(p.x) || !std::isfinite(p.y)) return false;
    return !crs.geographic() || (std::abs(p.y) <= 90 && std::abs(p.x) <= 360);
}

std::string shown(Point p) { return "(" + number_text(p.x) + ", " + number_text(p.y) + ")"; }

/// Eight digits: a metre or better, and no noise of rounding.
std::string rounded(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.8g", value);
    return text;
}

std::string shown(const Box& box) {
    return "x " + rounded(box.min_x) + " to " + rounded(box.max_x) + ", y " + rounded(box.min_y) + " to " +
           rounded(box.max_y);
}

/// One transformation a worker; what they report is joined so that the number of workers never shows.
class Workers {
public:
    Workers(const geo::Crs& from, const geo::Crs& to, std::span<const Point> sample,
            const geo::TransformationOptions& options, unsigned threads) {
        transformations_.emplace_back(from, to, sample, options);
        for (unsigned i = 1; i < threads; ++i) transformations_.push_back(transformations_.front().clone());
    }
    const geo::Transformation& operator[](unsigned worker) const { return transformations_[worker]; }
    bool identity() const { return transformations_.front().identity(); }

    model::CoordinateOperation report(const std::string& source, const geo::Crs& from, const geo::Crs& to) const {
        model::CoordinateOperation operation{source, from.name(), to.name(), {}, 0.0, false};
        if (identity()) {
            operation.name = "none needed";
            return operation;
        }
        std::set<std::string> names;
        for (const geo::Transformation& transformation : transformations_) {
            const geo::OperationReport& part = transformation.report();
            if (part.name.empty()) continue;
            for (std::size_t at = 0; at < part.name.size();) {
                const std::size_t end = std::min(part.name.find("; ", at), part.name.size());
                names.insert(part.name.substr(at, end - at));
                at = end + 2;
            }
            operation.ballpark = operation.ballpark || part.ballpark;
            if (!part.accuracy_m || !operation.accuracy_m) {
                operation.accuracy_m.reset();
            } else {
                operation.accuracy_m = std::max(*operation.accuracy_m, *part.accuracy_m);
            }
        }
        for (const std::string& name : names) operation.name += (operation.name.empty() ? "" : "; ") + name;
        return operation;
    }

private:
    std::vector<geo::Transformation> transformations_;
};

/// The same place by a longitude within 180 degrees of `longitude`.
Point beside(Point p, double longitude) { return {p.x + 360 * std::round((longitude - p.x) / 360), p.y}; }

/// A place relative to the map's box. At the date line degrees may be written in two ways. Numbers that cannot be
/// degrees stay unchanged.
Point as_box_has_it(Point p, const Box& box, const geo::Crs& crs) {
    return crs.geographic() && possible(crs, p) ? beside(p, (box.min_x + box.max_x) / 2) : p;
}

/// The map's box in the stops' own system, from points along and across it; empty if it cannot be transformed.
Box map_box_for_stops(const MapTable& map, const geo::Crs& to) {
    constexpr int steps = 20;
    std::vector<Point> grid;
    for (int i = 0; i <= steps; ++i) {
        for (int j = 0; j <= steps; ++j) {
            grid.push_back({map.box.min_x + map.box.width() * i / steps, map.box.min_y + map.box.height() * j / steps});
        }
    }
    Box box;
    try {
        // Only to compare extents: a datum shift is small beside a map.
        const geo::Transformation transformation(*map.crs, to, grid, {.allow_ballpark = true, .source = map.source});
        const std::vector<std::uint8_t> good = transformation.apply(grid);
        for (std::size_t i = 0; i < grid.size(); ++i) {
            if (good[i] != 0) box.add(to.geographic() && !box.empty() ? beside(grid[i], box.min_x) : grid[i]);
        }
    } catch (const Error&) {
        return {};
    }
    return box;
}

Box grown(Box box, double share) {
    const double margin = share * std::max(box.width(), box.height());
    return {box.min_x - margin, box.min_y - margin, box.max_x + margin, box.max_y + margin};
}

/// The map's box in the stops' own system; empty if it cannot be transformed. Throws Error if the stops are on the map
/// only with x and y exchanged, or if none is near it.
Box check_against_map(const SurveyFile& file, const StopTable& stops, const MapTable& map) {
    const Box box = map_box_for_stops(map, *stops.crs);
    if (box.empty()) return box;
    const Box near = grown(box, 0.25), far = grown(box, 1.0);
    std::size_t on = 0, on_swapped = 0, about = 0;
    Box spread;
    for (const model::Stop& stop : stops.stops) {
        const Point p = as_box_has_it(stop.position, box, *stops.crs);
        on += near.contains(p) ? 1U : 0U;
        const Point swapped{stop.position.y, stop.position.x};
        on_swapped += near.contains(as_box_has_it(swapped, box, *stops.crs)) ? 1U : 0U;
        about += far.contains(p) ? 1U : 0U;
        spread.add(stop.position);
    }
    const std::size_t count = stops.stops.size();
    if (on * 10 < count && on_swapped * 2 > count) {
        throw Error(stops.place,
                    "x and y seem to be swapped: " + std::to_string(on_swapped) + " of " + std::to_string(count) +
                        " stops lie on the map only when they change places",
                    file.stops.x.empty()
                        ? "Write points with x (east or longitude) before y (north or latitude)."
                        : "Exchange the columns named as 'x' and 'y' under 'stops': x is east or longitude.");
    }
    if (about == 0) {
        throw Error(stops.place,
                    "none of the " + std::to_string(count) + " stops lies on or near the map: they span " +
                        shown(spread) + ", and the map in the same system (" + stops.crs->name() + ") " + shown(box),
                    "Check the key 'crs' of 'stops' and of 'map'.");
    }
    return box;
}

void report_far_off(ProblemLog& problems, const StopTable& stops, const model::Stop& stop, const std::string& written,
                    const Box& map_box) {
    problems.add(
        {.severity = Severity::warning,
         .source = stops.source,
         .row = stop.row,
         .field = {},
         .value = written,
         .message = "the stop lies far outside the map, which spans " + shown(map_box) +
                    (stop.traverse.empty() ? "" : "; it is left out of traverse '" + stop.traverse.str() + "'"),
         .remedy = written == "(0, 0)" ? "Correct its coordinates: 0, 0 often stands for a place that was not measured."
                                       : "Correct its coordinates, or leave it if it is meant to lie there.",
         .position = stop.position});
}

void report_place(ProblemLog& problems, const StopTable& stops, const model::Stop& stop, const std::string& message) {
    problems.add({.severity = Severity::error,
                  .source = stops.source,
                  .row = stop.row,
                  .field = {},
                  .value = shown(stop.position),
                  .message = message + "; the stop is left out",
                  .remedy = "Correct the stop's coordinates, or the key 'crs' of 'stops'.",
                  .position = std::nullopt});
}

Point vertex_of(const MapTable& map, std::size_t polygon) { return map.polygons[polygon].polygon.shell.front(); }

}  // namespace

model::CoordinateOperation locate_stops(const SurveyFile& file, const geo::Crs& working, StopTable& stops,
                                        const MapTable* map, unsigned threads, ProblemLog& problems) {
    const Box map_box = map != nullptr ? check_against_map(file, stops, *map) : Box{};
    std::vector<std::pair<std::size_t, std::string>> far_off;
    if (!map_box.empty()) {
        const Box far = grown(map_box, 1.0);
        for (std::size_t i = 0; i < stops.stops.size(); ++i) {
            const Point place = as_box_has_it(stops.stops[i].position, map_box, *stops.crs);
            if (!far.contains(place)) far_off.emplace_back(i, shown(stops.stops[i].position));
        }
    }
    const geo::Crs& from = *stops.crs;
    const std::size_t count = stops.stops.size();
    std::vector<std::uint8_t> keep(count, 1);
    std::vector<Point> sample;
    const std::size_t step = std::max<std::size_t>(1, count / sample_size);
    for (std::size_t i = 0; i < count; ++i) {
        keep[i] = possible(from, stops.stops[i].position) ? 1 : 0;
        if (i % step == 0 && keep[i] != 0 && sample.size() < sample_size) sample.push_back(stops.stops[i].position);
    }
    if (std::find(keep.begin(), keep.end(), 1) == keep.end()) {
        throw Error(stops.place,
                    "its coordinates, such as " + shown(stops.stops.front().position) + ", are not degrees, as " +
                        from.name() + " has them",
                    "Give the system they are in with the key 'crs' of 'stops'.");
    }
    if (sample.empty()) {
        sample.push_back(
            stops.stops[static_cast<std::size_t>(std::find(keep.begin(), keep.end(), 1) - keep.begin())].position);
    }
    const unsigned workers = thread_count(threads);
    Workers transformations(from, working, sample,
                            {.allow_ballpark = file.settings.allow_ballpark, .source = stops.source}, workers);
    constexpr std::size_t block = 8192;
    std::vector<std::uint8_t> reached(count, 1);
    if (!transformations.identity()) {
        parallel_blocks(count, block, workers, [&](std::size_t begin, std::size_t end, unsigned worker) {
            std::vector<Point> points;
            std::vector<std::size_t> which;
            for (std::size_t i = begin; i < end; ++i) {
                if (keep[i] == 0) continue;
                points.push_back(stops.stops[i].position);
                which.push_back(i);
            }
            const std::vector<std::uint8_t> good = transformations[worker].apply(points);
            for (std::size_t k = 0; k < which.size(); ++k) {
                reached[which[k]] = good[k];
                if (good[k] != 0) stops.stops[which[k]].position = points[k];
            }
        });
    }
    model::CoordinateOperation operation = transformations.report(stops.source, from, working);
    for (std::size_t i = 0; i < count; ++i) {
        model::Stop& stop = stops.stops[i];
        if (keep[i] == 0) {
            report_place(problems, stops, stop, "the coordinates are not degrees, as " + from.name() + " has them");
        } else if (reached[i] == 0) {
            report_place(problems, stops, stop,
                         "the place is outside the area in which " + from.name() + " and " + working.name() + " hold");
            keep[i] = 0;
        } else if (operation.accuracy_m.value_or(0) > 0) {
            stop.position_sd_m = std::hypot(stop.position_sd_m, *operation.accuracy_m);
        }
    }
    for (const auto& [i, written] : far_off) {
        if (keep[i] == 0) continue;
        report_far_off(problems, stops, stops.stops[i], written, map_box);
        stops.stops[i].traverse = {};  // a slip of the pen would bend it
    }
    if (std::find(keep.begin(), keep.end(), 1) == keep.end()) {
        throw Error(stops.place,
                    "no stop lies in the area in which " + from.name() + " and " + working.name() +
                        " hold; the first is at " + shown(stops.stops.front().position),
                    "Check the key 'crs' of 'stops' and of the survey.");
    }
    keep_stops(stops, keep);
    return operation;
}

model::CoordinateOperation locate_map(const SurveyFile& file, const geo::Crs& working, MapTable& map, unsigned threads,
                                      ProblemLog& problems) {
    const geo::Crs& from = *map.crs;
    const std::size_t count = map.polygons.size();
    std::vector<Point> sample;
    const std::size_t step = std::max<std::size_t>(1, count / sample_size);
    for (std::size_t i = 0; i < count && sample.size() < sample_size; i += step) {
        if (map.polygons[i].polygon.shell.empty()) continue;
        if (const Point p = vertex_of(map, i); possible(from, p)) sample.push_back(p);
    }
    if (sample.empty()) {
        throw Error(map.place,
                    "its coordinates, such as " + shown(vertex_of(map, 0)) + ", are not degrees, as " + from.name() +
                        " has them",
                    "Give the system they are in with the key 'crs' of 'map'.");
    }
    const unsigned workers = thread_count(threads);
    Workers transformations(from, working, sample,
                            {.allow_ballpark = file.settings.allow_ballpark, .source = map.source}, workers);
    std::vector<PolygonScreen> screens(workers);
    const bool screened = transformations.identity() && map.surely_valid.size() == count;
    // Replacements for the few polygons that change: none (left out) or several.
    std::vector<std::unique_ptr<std::vector<Polygon>>> changed(count);
    auto report = [&](const model::MapPolygon& polygon, Severity severity, std::string message, std::string remedy,
                      std::optional<Point> position) {
        problems.add({.severity = severity,
                      .source = map.source,
                      .row = polygon.row,
                      .field = {},
                      .value = map.codes[static_cast<std::size_t>(polygon.unit)],
                      .message = std::move(message),
                      .remedy = std::move(remedy),
                      .position = position});
    };
    auto move_ring = [&](Ring& ring, unsigned worker) {
        if (!std::all_of(ring.begin(), ring.end(), [&](Point p) { return possible(from, p); })) return false;
        const std::vector<std::uint8_t> good = transformations[worker].apply(ring);
        return std::find(good.begin(), good.end(), 0) == good.end();
    };
    constexpr std::size_t block = 256;
    parallel_blocks(count, block, workers, [&](std::size_t begin, std::size_t end, unsigned worker) {
        for (std::size_t i = begin; i < end; ++i) {
            model::MapPolygon& entry = map.polygons[i];
            if (!transformations.identity()) {
                bool moved = move_ring(entry.polygon.shell, worker);
                for (Ring& hole : entry.polygon.holes) moved = moved && move_ring(hole, worker);
                if (!moved) {
                    report(entry, Severity::error,
                           "the polygon reaches outside the area in which " + from.name() + " and " + working.name() +
                               " hold and is left out",
                           "Correct the polygon, or the key 'crs' of 'map'.", std::nullopt);
                    changed[i] = std::make_unique<std::vector<Polygon>>();
                    continue;
                }
            }
            if (screened ? map.surely_valid[i] != 0 : screens[worker].surely_valid(entry.polygon)) continue;
            Repair repair = repaired(entry.polygon);
            if (repair.was_valid) continue;
            const std::string reason = repair.reason.empty() ? "" : " (" + repair.reason + ")";
            if (repair.polygons.empty()) {
                report(entry, Severity::warning, "the polygon has no area" + reason + " and is left out",
                       "Delete or redraw it.", repair.position);
            } else {
                report(entry, Severity::warning, "the polygon is not valid" + reason + " and has been repaired",
                       "Look at it and redraw it if the repair is not what you meant.", repair.position);
            }
            changed[i] = std::make_unique<std::vector<Polygon>>(std::move(repair.polygons));
        }
    });
    model::CoordinateOperation operation = transformations.report(map.source, from, working);
    if (std::any_of(changed.begin(), changed.end(), [](const auto& change) { return change != nullptr; })) {
        std::vector<model::MapPolygon> whole;
        whole.reserve(count);
        for (std::size_t i = 0; i < count; ++i) {
            if (!changed[i]) {
                whole.push_back(std::move(map.polygons[i]));
                continue;
            }
            for (Polygon& part : *changed[i])
                whole.push_back({map.polygons[i].unit, map.polygons[i].row, std::move(part)});
        }
        map.polygons = std::move(whole);
    }
    if (map.polygons.empty()) {
        throw Error(map.place, "none of its polygons can be used", "See the problems named above, or run the check.");
    }
    return operation;
}

}  // namespace subcrop::io
