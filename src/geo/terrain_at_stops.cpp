#include "subcrop/geo/terrain_at_stops.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {

std::string_view landform(const Terrain& terrain, Point place, const model::StopTerrain& ground) {
    constexpr double radius_m = 100, min_relief_m = 2;
    constexpr int around = 16;
    if (!ground.height_m || !ground.slope_deg) return {};
    double sum = 0, lowest = *ground.height_m, highest = lowest;
    int seen = 0;
    for (int k = 0; k < around; ++k) {
        const double angle = 2 * std::numbers::pi * k / around;
        const auto h = terrain.height({place.x + radius_m * std::cos(angle), place.y + radius_m * std::sin(angle)});
        if (!h) continue;
        sum += *h;
        lowest = std::min(lowest, *h);
        highest = std::max(highest, *h);
        ++seen;
    }
    if (seen < around / 2) return {};
    const double relief = highest - lowest, slope = *ground.slope_deg;
    const double position = relief > 0 ? (*ground.height_m - sum / seen) / relief : 0;
    if (ground.above_stream_m && *ground.above_stream_m < 2 && *ground.stream_distance_m < 100 && slope < 3 &&
        position < 0.1) {
        return "flood plain";
    }
    if (relief < min_relief_m) return {};
    if (position > 0.35 || (position > 0.15 && slope < 5)) return "summit";
    if (position > 0.1) return "shoulder";
    if (position < -0.1) return slope < 3 ? "toe slope" : "foot slope";
    return slope >= 5 ? "back slope" : std::string_view();
}

std::vector<model::StopTerrain> terrain_at(const Terrain& terrain, std::span<const Point> places, unsigned threads) {
    const auto ways = ways_to_stream(terrain, places, {}, threads);
    std::vector<model::StopTerrain> result(places.size());
    parallel_blocks(places.size(), 1024, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            model::StopTerrain& stop = result[i];
            const auto ground = terrain.surface(places[i], terrain.hillslope_m());
            if (!ground) continue;
            stop.height_m = terrain.height(places[i]);
            stop.slope_deg = ground->slope_deg;
            stop.aspect_deg = ground->aspect_deg;
            stop.profile_curvature = ground->profile_curvature;
            stop.plan_curvature = ground->plan_curvature;
            if (ways[i]) {
                stop.stream_distance_m = ways[i]->distance_m;
                stop.above_stream_m = ways[i]->above_m;
            }
            stop.landform = landform(terrain, places[i], stop);
        }
    });
    return result;
}

}  // namespace subcrop::geo
