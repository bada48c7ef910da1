// Where to dig to settle whether a part of a contact is right.
//
//     for (const ContactStretch& part : relocation.contacts[0].parts)
//         if (const auto dig = where_to_dig(survey, map, fit, relocation, 0, part)) sentences.push_back(dig->sentence);
//
// For a misplaced stretch, half way between the drawn line and the moved one. For a doubtful part, just beyond the 90 %
// zone, on the side whose stops fit the other unit. For an untested part, on both sides of the line. Along the part the
// place farthest from its stops and its ends is taken. It keeps to tracks and out of no-go areas.
#pragma once

#include <optional>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/contact_stretch.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct DigPlace {
    Point place;                                 ///< of an untested part: on the line, between the two holes
    model::UnitIndex if_drawn = model::no_unit;  ///< unit below the place if the contact is right as drawn
    model::UnitIndex if_not = model::no_unit;    ///< unit below it if not
    double to_either_side_m = 0;                 ///< distance of two holes from the line; 0: one hole, at the place
    std::string sentence;                        ///< where to dig, and what each outcome means
};

/// Absent if the part is supported, or if no place is allowed. `contact`: index into UnitMap::contacts().
std::optional<DigPlace> where_to_dig(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                     const Relocation& relocation, std::size_t contact, const ContactStretch& part);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
