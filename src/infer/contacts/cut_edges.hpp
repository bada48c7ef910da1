// Edges are cut into shorter ones before their vertices move, so that they can bend.
#pragma once

#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

/// The line with its edges cut into pieces of at most `step_m`. The cuts are bit-identical in both directions, so
/// polygons that share an edge still share it.
Line cut_edges(const Line& line, double step_m);

}  // namespace subcrop::infer
