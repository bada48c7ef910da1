// Where the drawn contacts would be if they follow beds over the terrain.
//
//     std::vector<ContactTrace> traces = trace_contacts(map, terrain, beds, options).traces;
//
// A contact between parallel beds is a contour line of s(x) = terrain height - bed height. Its level is unknown; the
// draft as a whole and the stops determine it. The beds determine the contact's shape: how far each place must move
// relative to the others.
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
    std::vector<Point> places;      ///< on the contour line of the contact's mean level
    std::vector<Point> normals;     ///< unit vectors in which s rises
    std::vector<double> offsets_m;  ///< distance along the normal from there to the drafted contact
    /// Inverse covariance of the offsets, n x n by rows. The common level is left free: offset - h x level, h = 1 /
    /// |grad s|.
    std::vector<double> precision;
    double misfit =
        0;  ///< root mean square of the offsets about their best level, in standard errors of trace and draft together
};

struct ContactTraceOptions {
    double contact_sd_m = 25;
    double spacing_m = 100;     ///< distance of places along a contact
    double terrain_sd_m = 1;    ///< standard error of the heights
    double roughness = 0.3;     ///< deviation of beds from their smooth form, in contact_sd_m on the map
    double largest_misfit = 2;  ///< contacts with a larger misfit are faults, or the beds are not parallel: no trace
    std::vector<std::uint8_t> cover;  ///< one a unit: surficial deposits follow no bed
};

struct ContactTraces {
    std::vector<ContactTrace> traces;
    std::size_t at_odds = 0;  ///< contacts left out for their misfit
};

/// Contacts between two bedrock units with at least three usable places on the terrain.
ContactTraces trace_contacts(const UnitMap& map, const Terrain& terrain, const BedSurface& beds,
                             const ContactTraceOptions& options);

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
