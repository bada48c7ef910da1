// A unit's typical profile as a column in its Munsell colours, with the quartiles of each horizon's top.
#pragma once

#include "publish/chapter/svg.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::publish::chapter {

/// Depths are drawn at 0.5 mm a centimetre. Horizons without a depth are left out. Empty (height 0) if none has one.
Svg profile_column(const infer::ProfileSummary& profile);

}  // namespace subcrop::publish::chapter
