// Where a plane cuts the land surface: the outcrop trace of a bed or contact, and its 90 % zone.
//
//     PlaneTrace trace = trace_plane(plane, ground, 2);
//     write_plane_trace("trace.gpkg", crs_wkt, trace, plane);
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/plane.hpp"
#include "subcrop/geo/terrain.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

struct PlaneTrace {
    std::vector<Line> lines;
    MultiPolygon band;  ///< the 90 % zone of the trace; empty if no error is known
    double length_m = 0;
    double band_area_m2 = 0;
};

/// The line where the land surface meets the plane, and its 90 % zone from the errors of the plane and of the heights
/// (`terrain_sd_m`, 0: none). Within `reach_m` of the plane's own place (0: the whole terrain).
PlaneTrace trace_plane(const geo::Plane& plane, const geo::Terrain& terrain, double terrain_sd_m = 0,
                       double reach_m = 0);

/// A GeoPackage (.gpkg) with the layers `trace` and `trace_band`, or GeoJSON (.geojson, .json) in degrees by RFC 7946,
/// completely or not at all. Throws Error if the file cannot be written or has another ending.
void write_plane_trace(const std::filesystem::path& target, const std::string& crs_wkt, const PlaneTrace& trace,
                       const geo::Plane& plane);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
