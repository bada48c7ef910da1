// Rings from the boundary edges of a connected area.
#pragma once

#include <optional>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

struct DirectedEdge {
    Point from;
    Point to;
};

/// The polygon with these boundary edges: each once, in any order, with the interior to the left. Nothing if they do
/// not close or enclose several pieces. If the boundary touches itself in a point, the rings are separated there, as a
/// valid polygon requires.
std::optional<Polygon> link_rings(const std::vector<DirectedEdge>& edges);

}  // namespace subcrop::geo
