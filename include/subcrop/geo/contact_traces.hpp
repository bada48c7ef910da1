// Where the drawn contacts would be if they follow beds over the terrain.
//
//     std::vector<ContactTrace> traces = trace_contacts(map, terrain, beds, options).traces;
//
// A contact between parallel beds is a level line of s(x) = terrain height - bed height. Its level is not known
// beforehand: the draft as a whole and the stops tell it. What the beds do tell is the contact's shape: how far each
// place of it must move against the others.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/bed_surface.hpp"
#include "subcrop/geo/terrain.hpp"
#include "subcrop/geo/unit_map.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

struct ContactTrace {
    std::uint32_t contact = 0;      ///< index into UnitMap::contacts()
    std::vector<Point> places;      ///< on the level line of the contact's mean level
    std::vector<Point> normals;     ///< unit vectors in which s rises
    std::vector<double> offsets_m;  ///< how far beyond them, along the normal, the draft has the contact
    /// Inverse covariance of the offsets, n x n by rows, one level common to all of them left free: offset - h x level,
    /// h = 1 / |grad s|.
    std::vector<double> precision;
    double misfit =
        0;  ///< root mean square of the offsets about their best level, in standard errors of trace and draft together
};

struct ContactTraceOptions {
    double contact_sd_m = 25;
    double spacing_m = 100;   ///< of places along a contact
    double terrain_sd_m = 1;  ///< of the heights
    double roughness = 0.3;   ///< by which beds stray from their smooth form at each place, in contact_sd_m on the map
    double largest_misfit =
        2;  ///< contacts that follow the beds no better are faults, or the beds are not parallel: no trace
    std::vector<std::uint8_t> cover;  ///< one a unit: surficial deposits follow no bed
};

struct ContactTraces {
    std::vector<ContactTrace> traces;
    std::size_t at_odds = 0;  ///< contacts left out for their misfit
};

/// Contacts between two bedrock units with at least three places on the terrain that tell something.
ContactTraces trace_contacts(const UnitMap& map, const Terrain& terrain, const BedSurface& beds,
                             const ContactTraceOptions& options);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
