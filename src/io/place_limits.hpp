// Numbers that can be no coordinates, whatever system they are in.
#pragma once

#include <cmath>

#include "subcrop/core/geometry.hpp"

namespace subcrop::io {

/// False also for NaN. A thousand million metres or feet is many times round the Earth; farther off, sums lose their
/// sense.
inline bool on_earth(Point p) { return std::abs(p.x) <= 1e9 && std::abs(p.y) <= 1e9; }

}  // namespace subcrop::io
