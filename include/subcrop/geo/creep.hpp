// From which places upslope the soil of a place crept.
//
//     const double length_m = creep_length_m(ground, cover_cm, settings, 25);  // 0 on flats
//     std::vector<Point> sources = soil_sources(terrain, place, length_m);     // empty: it lies where it formed
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/terrain.hpp"
#include "subcrop/model/creep_settings.hpp"
#include "subcrop/model/stop_terrain.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

inline constexpr std::size_t soil_parts = 6;

/// L of model/creep_settings.hpp at a place. `usual_m`: L on a slope of 0.2 below 50 cm of cover. 0 on level land and
/// if L is below 3 m. `cover_cm`: thickness of the soil, if known; 0: the material that is used has not moved.
double creep_length_m(const model::StopTerrain& ground, std::optional<double> cover_cm,
                      const model::CreepSettings& settings, double usual_m);

/// Six places up the steepest path, at the middles of six equal parts of exp(-d / L), cut off at the crest. Empty for a
/// length of 0, and if the path is shorter than 3 m.
std::vector<Point> soil_sources(const Terrain& terrain, Point place, double length_m);

/// The same for many places. `cover_cm`: one entry a place.
std::vector<std::vector<Point>> trace_creep(const Terrain& terrain, std::span<const Point> places,
                                            std::span<const model::StopTerrain> ground,
                                            std::span<const std::optional<double>> cover_cm,
                                            const model::CreepSettings& settings, double usual_m, unsigned threads);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
