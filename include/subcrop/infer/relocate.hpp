// Where the contacts should run, how well that is known, and the draft redrawn with them.
//
//     Relocation moved = relocate(survey, map, fit, threads, problems);
//     const Line& line = relocated_line(moved, map, i);             // contact i where it should run
//     double half_m = moved.contacts[i].location_confidence_m;      // 90 % half-width
//     double p = moved.shifts[i].p_moved;                           // that it moved by more than its stated accuracy
//     const std::vector<model::MapPolygon>& redrawn = moved.units;  // the draft redrawn
//
// Every edge is cut at the same places for the contact and for the polygons on both sides. So shared edges stay shared,
// and contacts meet where they met. The displacement comes from a lattice of H/12 (error A/1000; A, H:
// shift_field.hpp). Cost: the lattice and 0.1 us a vertex. More than H beyond the stops the displacement fades as the
// field's correlation does.
//
// Not good at: a corner of one polygon that lies along an edge of another without being a vertex of it (a T-junction).
// It may leave a sliver of a few millimetres up to a centimetre beside the moved edge.
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
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/moved_stretch.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// 90 % half-width of a Gaussian, in standard errors.
inline constexpr double half_width_in_sd = 1.6448536269514722;

/// Scientific confidence, in the two words that FGDC-STD-013-2006 and GeMS (U.S. Geological Survey Techniques and
/// Methods 11-B10, 2020, ExistenceConfidence and IdentityConfidence) use.
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

/// A contact where it should run; in the order of UnitMap::contacts().
struct RelocatedContact {
    Line line;  ///< empty where nothing was moved: see `relocated_line`
    std::vector<double>
        half_widths_m;  ///< 90 % half-width at each vertex of `line`; a single one where nothing was moved
    /// Half-width of the 90 % zone, root mean square along the contact, metres: GeMS LocationConfidenceMeters.
    /// Does not include the error of the base map.
    double location_confidence_m = 0;
    /// Questionable if at least 3 stops on one side fit the unit across with 0.8 or more, and outnumber those that fit
    /// their own. Questionable also if `disputed`. Otherwise certain.
    Confidence existence = Confidence::certain;
    /// Certain if, on both sides, more stops fit the unit of their side (0.8 or more) than any other unit.
    /// Otherwise questionable, also without stops.
    Confidence identity = Confidence::questionable;
    LocationClass location = LocationClass::inferred;
    /// Index in Fit::clusters: at least half of it runs along a disputed area that is like the other side.
    /// The contact then exists only if the dispute is wrong.
    std::optional<std::size_t> disputed = {};
    std::size_t crossed_elsewhere = 0;         ///< traverse crossings whose 90 % interval excludes the drawn line
    std::vector<MovedStretch> stretches = {};  ///< misplaced; empty if nothing was moved or the contact is disputed
};

/// How far a drafted contact moves.
struct ContactShift {
    double shift_m = 0;     ///< along the normal, mean over its length; positive into unit_b
    double shift_sd_m = 0;  ///< standard error of the shift at one place of it, root mean square over its length
    std::optional<double> azimuth_deg =
        {};              ///< of the mean normal displacement, clockwise from grid north; absent: it has none
    double p_moved = 0;  ///< probability that it moved by more than contact_sd_m, mean over its length
};

struct Relocation {
    bool moved = false;  ///< false: the draft stands
    std::vector<RelocatedContact> contacts;
    std::vector<ContactShift> shifts;      ///< one a contact; empty where nothing was moved
    std::vector<model::MapPolygon> units;  ///< the draft's polygons in their order; empty where nothing was moved
    std::vector<std::size_t> drafted;      ///< of each of `units`: which of UnitMap::polygons() it was
};

/// `shift` where p_moved is over 0.8, else as the stops alone have it.
Review review_of(const ContactSupport& support, const ContactShift& shift);
/// Review of a contact by its worst part, whether contacts moved or not. `doubtful` if it is disputed, else `shift` if
/// a stretch of it is misplaced. At best `doubtful` if a traverse crosses it away from the drawn line.
Review review_of(const Fit& fit, const Relocation& relocation, std::size_t contact);

/// Where the field would fold the map (determinant of its Jacobian 0.1 or less) it is damped, with a note.
/// A moved polygon that is not valid is repaired, with a note.
Relocation relocate(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, unsigned threads,
                    ProblemLog& problems);

/// Contact `i` where it should run; the drafted line where nothing was moved.
const Line& relocated_line(const Relocation& relocation, const geo::UnitMap& map, std::size_t contact);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
