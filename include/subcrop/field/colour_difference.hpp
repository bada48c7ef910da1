// How different two colours look: CIEDE2000.
#pragma once

#include "subcrop/core/export.hpp"
#include "subcrop/field/munsell.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// CIEDE2000 colour difference with unit weights (Sharma, Wu and Dalal 2005, Color Research and Application 30:21-30).
/// Symmetric; 1 is about the smallest difference an eye sees.
double colour_difference(const Lab& first, const Lab& second);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
