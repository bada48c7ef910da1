// The order of the stops along a traverse.
#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>
#include <tuple>

#include "subcrop/infer/traverse.hpp"

namespace subcrop::infer {

namespace {

bool is_iso_date(std::string_view text) { return text.size() >= 10 && text[4] == '-' && text[7] == '-'; }

/// Direction of the greatest spread of places, pointing east (or north).
Point principal_direction(const model::Survey& survey, const std::vector<std::size_t>& stops) {
    Point mean;
    for (const std::size_t s : stops) {
        mean.x += survey.stops[s].position.x / static_cast<double>(stops.size());
        mean.y += survey.stops[s].position.y / static_cast<double>(stops.size());
    }
    double xx = 0, xy = 0, yy = 0;
    for (const std::size_t s : stops) {
        const double dx = survey.stops[s].position.x - mean.x, dy = survey.stops[s].position.y - mean.y;
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    const double angle = 0.5 * std::atan2(2 * xy, xx - yy);  // in (-90, 90] degrees
    return {std::cos(angle), std::sin(angle)};
}

void put_in_order(const model::Survey& survey, Traverse& traverse) {
    std::vector<std::size_t>& stops = traverse.stops;
    const auto all = [&](auto has) { return std::all_of(stops.begin(), stops.end(), has); };
    const auto sort_by = [&](auto key) {
        std::sort(stops.begin(), stops.end(), [&](std::size_t a, std::size_t b) {
            const model::Stop &p = survey.stops[a], &q = survey.stops[b];
            return std::tuple(key(p), p.position.x, p.position.y, std::string_view(p.id)) <
                   std::tuple(key(q), q.position.x, q.position.y, std::string_view(q.id));
        });
    };
    if (all([&](std::size_t s) { return survey.stops[s].seq.has_value(); })) {
        sort_by([](const model::Stop& stop) { return *stop.seq; });
        return;
    }
    if (all([&](std::size_t s) { return is_iso_date(survey.stops[s].date.str()); })) {
        const auto date = [](const model::Stop& stop) { return std::string_view(stop.date.str()); };
        sort_by(date);
        const bool distinct = std::adjacent_find(stops.begin(), stops.end(), [&](std::size_t a, std::size_t b) {
                                  return date(survey.stops[a]) == date(survey.stops[b]);
                              }) == stops.end();
        if (distinct) return;
    }
    const Point along = principal_direction(survey, stops);
    sort_by([along](const model::Stop& stop) { return stop.position.x * along.x + stop.position.y * along.y; });
}

}  // namespace

std::vector<Traverse> order_traverses(const model::Survey& survey) {
    std::map<std::string, std::vector<std::size_t>> by_name;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        if (!survey.stops[s].traverse.empty()) by_name[std::string(survey.stops[s].traverse.str())].push_back(s);
    }
    std::vector<Traverse> traverses;
    for (auto& [name, stops] : by_name) {
        if (stops.size() < 2) continue;
        traverses.push_back({name, std::move(stops)});
        put_in_order(survey, traverses.back());
    }
    return traverses;
}

}  // namespace subcrop::infer
