#include "infer/planning/walk.hpp"

#include <algorithm>
#include <cstdint>

namespace subcrop::infer {

namespace {

constexpr std::size_t max_starts = 50;
constexpr double shorter_by_m = 1e-6;

double length_of(std::span<const Point> places, const std::vector<std::size_t>& order) {
    double length = 0;
    for (std::size_t i = 1; i < order.size(); ++i) length += distance(places[order[i - 1]], places[order[i]]);
    return length;
}

std::vector<std::size_t> nearest_next(std::span<const Point> places, std::size_t start) {
    std::vector<std::size_t> order{start};
    std::vector<std::uint8_t> seen(places.size(), 0);
    seen[start] = 1;
    while (order.size() < places.size()) {
        std::size_t next = places.size();
        for (std::size_t i = 0; i < places.size(); ++i) {
            if (seen[i]) continue;
            if (next == places.size() ||
                distance(places[order.back()], places[i]) < distance(places[order.back()], places[next]))
                next = i;
        }
        seen[next] = 1;
        order.push_back(next);
    }
    return order;
}

void turn_stretches(std::span<const Point> places, std::vector<std::size_t>& order) {
    const auto leg = [&](std::size_t i, std::size_t j) { return distance(places[order[i]], places[order[j]]); };
    const std::size_t n = order.size();
    for (bool better = true; better;) {
        better = false;
        for (std::size_t i = 0; i + 1 < n; ++i) {
            for (std::size_t j = i + 1; j < n; ++j) {
                // the part from i to j is reversed; an open walk has no leg beyond its ends
                const double before = (i > 0 ? leg(i - 1, i) : 0) + (j + 1 < n ? leg(j, j + 1) : 0);
                const double after = (i > 0 ? leg(i - 1, j) : 0) + (j + 1 < n ? leg(i, j + 1) : 0);
                if (after >= before - shorter_by_m) continue;
                std::reverse(order.begin() + static_cast<std::ptrdiff_t>(i),
                             order.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                better = true;
            }
        }
    }
}

}  // namespace

std::vector<std::size_t> short_walk(std::span<const Point> places) {
    std::vector<std::size_t> best;
    for (std::size_t start = 0; start < std::min(places.size(), max_starts); ++start) {
        std::vector<std::size_t> order = nearest_next(places, start);
        turn_stretches(places, order);
        if (best.empty() || length_of(places, order) < length_of(places, best) - shorter_by_m) best = std::move(order);
    }
    if (!best.empty() && distance(places[best.back()], places[0]) < distance(places[best.front()], places[0]))
        std::reverse(best.begin(), best.end());
    return best;
}

void number_walk(std::vector<NextStop>& stops) {
    std::vector<Point> places;
    for (const NextStop& stop : stops) places.push_back(stop.place);
    const std::vector<std::size_t> order = short_walk(places);
    for (std::size_t k = 0; k < order.size(); ++k) stops[order[k]].walk = k + 1;
}

}  // namespace subcrop::infer
