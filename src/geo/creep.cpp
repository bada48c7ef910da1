#include "subcrop/geo/creep.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "subcrop/core/parallel.hpp"

namespace subcrop::geo {

namespace {

constexpr double usual_slope = 0.2, usual_cover_cm = 50;
constexpr double min_length_m = 3;
/// Middle of the farthest of the six parts, in lengths.
const double farthest = -std::log(0.5 / static_cast<double>(soil_parts));

}  // namespace

double creep_length_m(const model::StopTerrain& ground, std::optional<double> cover_cm,
                      const model::CreepSettings& settings, double usual_m) {
    if (!ground.slope_deg || (cover_cm && *cover_cm <= 0)) return 0;
    const double slope = std::min(std::tan(*ground.slope_deg * std::numbers::pi / 180), settings.steepest);
    double length = usual_m * slope / usual_slope;
    if (cover_cm && settings.thickness_cm > 0) {
        length *= std::clamp(std::exp((*cover_cm - usual_cover_cm) / settings.thickness_cm), 0.5, 2.0);
    }
    if (ground.plan_curvature) length *= std::clamp(1 - settings.curvature_m * *ground.plan_curvature, 0.5, 2.0);
    return length < min_length_m ? 0 : length;
}

std::vector<Point> soil_sources(const Terrain& terrain, Point place, double length_m) {
    std::vector<Point> sources;
    if (length_m <= 0) return sources;
    const double step = std::clamp(length_m / 5, 2.0, 10.0);
    const std::vector<Point> path =
        terrain.upslope_path(place, std::ceil(farthest * length_m / step) * step, step, terrain.hillslope_m());
    const double way = step * static_cast<double>(path.size() - 1);
    if (way < min_length_m) return sources;
    // Beyond the sixth's middle the way is not followed; where it ends before, there is a crest.
    const double whole = way >= farthest * length_m ? 1 : 1 - std::exp(-way / length_m);
    for (std::size_t part = 0; part < soil_parts; ++part) {
        const double below = whole * (static_cast<double>(part) + 0.5) / static_cast<double>(soil_parts);
        const double at = -length_m * std::log(1 - below) / step;
        const auto leg = std::min(static_cast<std::size_t>(at), path.size() - 2);
        const double t = at - static_cast<double>(leg);
        sources.push_back({std::lerp(path[leg].x, path[leg + 1].x, t), std::lerp(path[leg].y, path[leg + 1].y, t)});
    }
    return sources;
}

std::vector<std::vector<Point>> trace_creep(const Terrain& terrain, std::span<const Point> places,
                                            std::span<const model::StopTerrain> ground,
                                            std::span<const std::optional<double>> cover_cm,
                                            const model::CreepSettings& settings, double usual_m, unsigned threads) {
    assert(places.size() == ground.size() && places.size() == cover_cm.size());
    std::vector<std::vector<Point>> sources(places.size());
    parallel_blocks(places.size(), 1024, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            sources[i] = soil_sources(terrain, places[i], creep_length_m(ground[i], cover_cm[i], settings, usual_m));
        }
    });
    return sources;
}

}  // namespace subcrop::geo
