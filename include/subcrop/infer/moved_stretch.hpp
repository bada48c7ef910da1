// Misplaced stretches of contact: the drawn line lies outside the 90 % zone of the moved contact.
//
//     for (const MovedStretch& stretch : relocation.contacts[0].stretches)
//         furthest_m = std::max(furthest_m, stretch.shift_m);  // mean of the stretch, with stretch.shift_sd_m
//     MovedLength all = moved_length(relocation, map);         // over all contacts
//
// Not good at: saying that a contact as a whole is wrong. The 90 % holds place by place, so some places of a right
// draft would be called misplaced. They are few, because contacts move only if this predicts hidden stops better. Cost:
// linear in the vertices.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct Relocation;

/// Part of one drafted contact; all lengths in metres.
struct MovedStretch {
    Line drafted, moved;          ///< the part as drawn, and the same part as moved, vertex by vertex
    double from_m = 0;            ///< along the drafted contact, from its first vertex
    double length_m = 0;          ///< along the draft
    double shift_m = 0;           ///< along the normal, without sign, mean over the length
    double min_m = 0, max_m = 0;  ///< of that shift
    double shift_sd_m = 0;        ///< standard error of the shift at a place, root mean square over the length
    std::optional<double> azimuth_deg = {};  ///< of the mean shift, clockwise from grid north; absent: no direction
    Point middle;                            ///< half way along the draft
};

/// `shifts_m`: how far each vertex moved along the normal, above 0 to one side and below to the other; `half_widths_m`:
/// the 90 percent half-width there. All four have the same length (asserted). Shift and half-width are linear along an
/// edge, so a stretch may begin and end between vertices. It ends where the sign changes. A stretch shorter than its
/// shift is left out.
std::vector<MovedStretch> moved_stretches(const Line& drafted, const Line& moved, std::span<const double> shifts_m,
                                          std::span<const double> half_widths_m);

/// Over all contacts of a map.
struct MovedLength {
    double length_m = 0;                      ///< misplaced, along the draft
    double of_m = 0;                          ///< drafted
    double mean_m = 0, min_m = 0, max_m = 0;  ///< the shift along `length_m`; 0 if nothing is misplaced
    std::size_t stretches = 0;
};
MovedLength moved_length(const Relocation& relocation, const geo::UnitMap& map);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
