// Contacts: the lines where two different units of the draft meet. They are built from edges shared by polygons of
// exactly two units.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

/// One unbroken line between the same two units, from node to node. A node is where three or more polygons meet, the
/// map's edge, or an arbitrary start on a closed contact.
struct Contact {
    model::UnitIndex unit_a = model::no_unit;  ///< the lower index
    model::UnitIndex unit_b = model::no_unit;
    model::UnitIndex left = model::no_unit;  ///< the unit to the left along `line`; unit_a or unit_b
    Line line;
    double length_m = 0;
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
