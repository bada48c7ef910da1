// Where the contacts should run, how well that is known, and the draft redrawn with them.
//
//     Relocation moved = relocate(survey, map, fit, threads, problems);
//     relocated_line(moved, map, i)             // contact i where it should run
//     moved.contacts[i].location_confidence_m   // 90 % half-width
//     moved.shifts[i].p_moved                   // moved by more than its stated accuracy
//     moved.units                               // the draft redrawn
//
// Every edge of the draft is cut at the same places for the contact and for the polygons on both sides, and every place moves
// alike, so that shared edges stay shared and contacts meet where they met. Where the field stayed still nothing is moved.
// The displacement is taken from a lattice of H/12 (error A/1000, A and H as in shift_field.hpp), so cost is that of the
// lattice and 0.1 us a vertex. Beyond the stops' ground by more than H it fades as the field's own correlation does.
//
// Not good at: a corner of one polygon that lies along an edge of another without being a vertex of it (a T-junction). It
// may leave a sliver of a few millimetres up to a centimetre beside the moved edge.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/moved_stretch.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::infer {

/// Standard errors to either side that hold 90 % of a Gaussian.
inline constexpr double half_width_in_sd = 1.6448536269514722;

/// Scientific confidence, in the two words that FGDC-STD-013-2006 and GeMS (U.S. Geological Survey Techniques and Methods
/// 11-B10, 2020, ExistenceConfidence and IdentityConfidence) use.
enum class Confidence : std::uint8_t { certain, questionable };
std::string_view to_string(Confidence confidence);
std::string_view description(Confidence confidence);

/// How a contact's place is known, in the terms of FGDC-STD-013-2006 (section 1.1; the wording of its definitions from
/// memory): accurate is seen and lies within the map's stated zone of confidence; approximate is seen and may lie outside
/// it; inferred is not seen, its place follows from indirect evidence; concealed lies below younger cover.
///
/// The thresholds are ours. The stated zone is 1.645 contact_sd_m to either side. `accurate`: rock of both units was seen
/// within that zone of the contact and location_confidence_m is no wider than it. `approximate`: rock of both units was
/// seen within 4 standard errors. `concealed`: neither unit is cover, there are at least 3 stops within 4 standard errors and
/// most of them stand on carried soil; rock of both units seen overrides it. `inferred`: all else. A draft shows no contact
/// below a polygon of cover, and the edge of such a polygon is a contact at the surface, classed by the same rules as others.
enum class LocationClass : std::uint8_t { accurate, approximate, inferred, concealed };
std::string_view to_string(LocationClass location);
std::string_view description(LocationClass location);

/// A contact where it should run; in the order of UnitMap::contacts().
struct RelocatedContact {
    Line line;                       ///< empty where nothing was moved: see `relocated_line`
    std::vector<double> half_widths_m;  ///< 90 % half-width at each vertex of `line`; a single one where nothing was moved
    /// Half-width of the zone that holds the contact with 90 %, root mean square along it, metres: GeMS
    /// LocationConfidenceMeters, relative to the other features of the map and so without the error of the base map.
    double location_confidence_m = 0;
    /// Questionable where at least 3 stops on one side fit the other side's unit with 0.8 or more, and more of them than fit
    /// their own: the same unit then seems to lie on both sides; or where it is `disputed`. Certain otherwise, for two different units do meet.
    Confidence existence = Confidence::certain;
    /// Certain where on both sides at least one stop fits its side's unit with 0.8 or more, and none of the two sides has
    /// as many that fit some other unit. Questionable otherwise, also where there are no stops.
    Confidence identity = Confidence::questionable;
    LocationClass location = LocationClass::inferred;
    /// Index in Fit::patches: at least half of it runs along ground that is disputed and like the other side, so that it is there only if the
    /// dispute is wrong.
    std::optional<std::size_t> disputed = {};
    std::size_t crossed_elsewhere = 0;         ///< traverse crossings whose 90 % interval leaves the drafted line out
    std::vector<MovedStretch> stretches = {};  ///< that run elsewhere; empty where nothing was moved or the contact is disputed
};

/// How far a drafted contact moves.
struct ContactShift {
    double shift_m = 0;      ///< along the normal, mean over its length; positive into the ground of unit_b
    double shift_sd_m = 0;   ///< standard error of the shift at one place of it, root mean square over its length
    std::optional<double> azimuth_deg = {};  ///< of the mean normal displacement, clockwise from grid north; absent: it has none
    double p_moved = 0;      ///< probability that it moved by more than contact_sd_m, mean over its length
};

struct Relocation {
    bool moved = false;  ///< false: the draft stands
    std::vector<RelocatedContact> contacts;
    std::vector<ContactShift> shifts;         ///< one a contact; empty where nothing was moved
    std::vector<model::MapPolygon> units;     ///< the draft's polygons in their order; empty where nothing was moved
    std::vector<std::size_t> drafted;         ///< of each of `units`: which of UnitMap::polygons() it was
};

/// `shift` where p_moved is over 0.8, else as the stops alone have it.
Review review_of(const ContactSupport& support, const ContactShift& shift);
/// Of contact `i`, whether contacts were moved or not, by the worst of its parts: `doubtful` where it is disputed,
/// `shift` where a stretch of it runs elsewhere, at best `doubtful` where a traverse crosses it elsewhere than drafted.
Review review_of(const Fit& fit, const Relocation& relocation, std::size_t contact);

/// Where the field would fold the map (determinant of its Jacobian 0.1 or less) it is damped, with a note for each such
/// ground; a moved polygon that is not valid is repaired, with a note.
Relocation relocate(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, unsigned threads,
                    ProblemLog& problems);

/// Contact `i` where it should run; the drafted line where nothing was moved.
const Line& relocated_line(const Relocation& relocation, const geo::UnitMap& map, std::size_t contact);

}  // namespace subcrop::infer
