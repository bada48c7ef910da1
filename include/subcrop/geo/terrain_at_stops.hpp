// The terrain at every stop of a survey.
#pragma once

#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/drainage.hpp"
#include "subcrop/geo/terrain.hpp"
#include "subcrop/model/stop_terrain.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// Margin of terrain that is needed around the stops.
inline constexpr double terrain_margin_m = 1000;

/// One entry a place. Slope, aspect and curvature over `Terrain::hillslope_m`. Cost: about 10 us a place, and 0.5 us a
/// cell of the tiles of terrain that hold places.
std::vector<model::StopTerrain> terrain_at(const Terrain& terrain, std::span<const Point> places, unsigned threads);

/// Landform from the shape of the land: the height over the mean of a circle of 100 m, as a share of its relief, with
/// slope and stream (common practice, no source). "flood plain", "summit", "shoulder", "back slope", "foot slope", "toe
/// slope". Empty if none fits, or if the relief is below 2 m and no stream is near.
std::string_view landform(const Terrain& terrain, Point place, const model::StopTerrain& ground);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
