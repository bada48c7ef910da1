#include "allowed_places.hpp"

#include <algorithm>

namespace subcrop::infer {

namespace {

double distance_to(const Line& line, Point place) {
    double best = 1e300;
    for (std::size_t i = 1; i < line.size(); ++i) {
        const double dx = line[i].x - line[i - 1].x, dy = line[i].y - line[i - 1].y, squared = dx * dx + dy * dy;
        const double t = squared > 0 ? std::clamp(((place.x - line[i - 1].x) * dx + (place.y - line[i - 1].y) * dy) / squared, 0.0, 1.0) : 0;
        best = std::min(best, distance(place, {line[i - 1].x + t * dx, line[i - 1].y + t * dy}));
    }
    return best;
}

bool inside(const Ring& ring, Point place) {
    bool in = false;
    for (std::size_t i = 1; i < ring.size(); ++i) {
        const Point a = ring[i - 1], b = ring[i];
        if ((a.y > place.y) != (b.y > place.y) && place.x < (a.x - b.x) * (place.y - b.y) / (a.y - b.y) + b.x) in = !in;
    }
    return in;
}

bool inside(const Polygon& polygon, Point place) {
    return inside(polygon.shell, place) && std::none_of(polygon.holes.begin(), polygon.holes.end(), [&](const Ring& hole) { return inside(hole, place); });
}

}  // namespace

bool AllowedPlaces::operator()(Point place) const {
    if (map_.unit_at(place) == model::no_unit) return false;
    if (std::any_of(survey_.no_go.begin(), survey_.no_go.end(), [&](const Polygon& polygon) { return inside(polygon, place); })) return false;
    return survey_.tracks.empty() || std::any_of(survey_.tracks.begin(), survey_.tracks.end(),
                                                 [&](const Line& track) { return distance_to(track, place) <= survey_.track_reach_m; });
}

}  // namespace subcrop::infer
