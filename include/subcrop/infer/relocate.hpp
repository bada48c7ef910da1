// Where contacts should run, how well their place is known, and the draft redrawn with them.
//
//     Relocation moved = relocate(survey, map, fit, threads, problems);
//     const Line& line = relocated_line(moved, map, i);             // contact i where it should run
//     double half_m = moved.contacts[i].location_confidence_m;      // 90 % half-width
//     double p = moved.shifts[i].p_moved;                           // that it moved by more than its stated accuracy
//     const std::vector<model::MapPolygon>& redrawn = moved.units;  // the draft redrawn
//
// Each edge is cut at the same places for the contact and for the polygons on both sides. So shared edges stay shared,
// and contacts meet where they met before. The displacement is read from a lattice of step H/12 (error A/1000; A, H:
// shift_field.hpp). Farther than H from the stops it fades like the field's correlation. Cost: the lattice and 0.1 us a
// vertex.
//
// Not good at: T-junctions, where a corner of one polygon lies on an edge of another that has no vertex there. The
// moved edge may then have a sliver beside it, up to a centimetre wide.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/contact_stretch.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/moved_stretch.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// 90 % half-width of a Gaussian, in standard errors.
inline constexpr double half_width_in_sd = 1.6448536269514722;

/// Scientific confidence, in the two words of FGDC-STD-013-2006 and GeMS (U.S. Geological Survey Techniques and Methods
/// 11-B10, 2020, ExistenceConfidence and IdentityConfidence).
enum class Confidence : std::uint8_t { certain, questionable };
std::string_view to_string(Confidence confidence);
std::string_view description(Confidence confidence);

/// How a contact's place is known, in the terms of FGDC-STD-013-2006 (section 1.1; definitions worded from memory).
/// Accurate: observed, within the map's stated zone. Approximate: observed, perhaps outside it.
/// Inferred: from indirect evidence. Concealed: below younger cover.
///
/// The thresholds are ours. The stated zone is +- 1.645 contact_sd_m.
/// `accurate`: bedrock of both units observed within that zone, and location_confidence_m no wider than it.
/// `approximate`: bedrock of both units observed within 4 standard errors.
/// `concealed`: neither unit is cover, and most of at least 3 stops within 4 standard errors have transported soil.
/// `inferred`: all else. The edge of a polygon of cover is a contact at the surface, classed by the same rules.
enum class LocationClass : std::uint8_t { accurate, approximate, inferred, concealed };
std::string_view to_string(LocationClass location);
std::string_view description(LocationClass location);

/// A contact at its new place, in the order of UnitMap::contacts().
struct RelocatedContact {
    Line line;                          ///< empty if nothing was moved: see `relocated_line`
    std::vector<double> half_widths_m;  ///< 90 % half-width at each vertex of `line`; a single one if nothing was moved
    /// Half-width of the 90 % zone, root mean square along the contact, metres: GeMS LocationConfidenceMeters.
    /// Does not include the error of the base map.
    double location_confidence_m = 0;
    /// Questionable if, on one side, at least 3 stops fit the unit across with 0.8 or more, and they outnumber the
    /// stops that fit their own unit. Also questionable if `disputed`. Otherwise certain.
    Confidence existence = Confidence::certain;
    /// Certain if, on both sides, more stops fit the unit of their side (0.8 or more) than any other unit. Otherwise
    /// questionable; so it is if there are no stops.
    Confidence identity = Confidence::questionable;
    LocationClass location = LocationClass::inferred;
    /// Index in Fit::clusters, if at least half of the contact runs along a disputed area that looks like the unit
    /// across. The contact then exists only if the dispute is wrong.
    std::optional<std::size_t> disputed = {};
    std::size_t crossed_elsewhere = 0;         ///< crossings by traverses whose 90 % interval excludes the drawn line
    std::vector<MovedStretch> stretches = {};  ///< misplaced; empty if nothing was moved or it is disputed
    std::vector<ContactStretch> parts = {};    ///< of the whole contact; empty on a first map
};

/// How far a drafted contact moves.
struct ContactShift {
    double shift_m = 0;     ///< along the normal, mean over the length; positive towards unit_b
    double shift_sd_m = 0;  ///< standard error of the shift at a place, root mean square over the length
    std::optional<double> azimuth_deg = {};  ///< of the mean shift, clockwise from grid north; absent: no direction
    double p_moved = 0;                      ///< probability of a shift of more than contact_sd_m, mean over the length
};

struct Relocation {
    bool moved = false;  ///< false: all is left as drawn
    std::vector<RelocatedContact> contacts;
    std::vector<ContactShift> shifts;      ///< one for each contact; empty if nothing was moved
    std::vector<model::MapPolygon> units;  ///< the draft's polygons in their order; empty if nothing was moved
    std::vector<std::size_t> drafted;      ///< for each of `units`: its index in UnitMap::polygons()
};

/// Review of a contact: that of its worst part. `shift` comes before `doubtful`, `supported` before `untested`.
Review review_of(const Relocation& relocation, std::size_t contact);

/// The field is damped where it would fold the map (Jacobian determinant 0.1 or less). An invalid moved polygon is
/// repaired. Both are reported as notes.
Relocation relocate(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, unsigned threads,
                    ProblemLog& problems);

/// Contact `i` at its new place; the drafted line if nothing was moved.
const Line& relocated_line(const Relocation& relocation, const geo::UnitMap& map, std::size_t contact);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
