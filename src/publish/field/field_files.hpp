// The field trip as files for a receiver, a phone and a GIS, all in WGS 84 longitude and latitude.
#pragma once

#include <filesystem>

#include "io/pending_file.hpp"
#include "publish/field/field_trip.hpp"

namespace subcrop::publish {

/// GPX 1.1: stops as waypoints, the walk as a route, contacts and the outlines of their zones as tracks.
void write_gpx(const std::filesystem::path& target, const FieldTrip& trip, const ToDegrees& degrees,
               io::PendingFiles& together);
/// KML 2.2, the same; zones and disputed areas are polygons.
void write_kml(const std::filesystem::path& target, const FieldTrip& trip, const ToDegrees& degrees,
               io::PendingFiles& together);
/// GeoJSON (RFC 7946), the same; the property `kind` distinguishes them.
void write_geojson(const std::filesystem::path& target, const FieldTrip& trip, const ToDegrees& degrees,
                   io::PendingFiles& together);

}  // namespace subcrop::publish
