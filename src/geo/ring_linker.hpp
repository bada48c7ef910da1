// Rings from the boundary edges of ground that hangs together.
#pragma once

#include <optional>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

struct DirectedEdge {
    Point from;
    Point to;
};

/// The polygon whose boundary the edges are, each once, in any order, the ground to its left. Nothing where they do not
/// close or enclose several pieces. Where the boundary touches itself in a point the rings are parted there, as
/// validity asks.
std::optional<Polygon> link_rings(const std::vector<DirectedEdge>& edges);

}  // namespace subcrop::geo
