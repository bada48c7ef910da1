// Edges cut finer before their vertices move, so that they bend with the ground.
#pragma once

#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

/// The line with its edges cut into pieces no longer than `step_m`; an edge is cut at the same bits whichever way it
/// runs, so that polygons which share it still do.
Line cut_edges(const Line& line, double step_m);

}  // namespace subcrop::infer
