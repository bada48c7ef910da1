// A quick test that most polygons of a clean map pass: where it says yes the polygon is valid in the sense of the OGC
// simple features; where it says no the polygon needs a closer look, and may still be valid.
//
// Edges are swept in order of one coordinate and only those whose boxes meet are compared; orientation is judged with
// an error bound, so that rounding never passes a bad polygon. A ring that touches itself or another is left to the
// closer look.
#pragma once

#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::io {

class PolygonScreen {
public:
    bool surely_valid(const Polygon& polygon);

private:
    struct Edge {
        Point a, b;
        double low = 0, high = 0;            ///< along the sweep
        double side_low = 0, side_high = 0;  ///< across it
        std::uint32_t ring = 0;
        std::uint32_t index = 0;
    };

    bool add_ring(const Ring& ring, std::uint32_t number, bool sweep_x);
    bool apart(const Edge& e, const Edge& f) const;

    std::vector<Edge> edges_;
    std::vector<std::uint32_t> ring_edges_;  ///< edges in each ring
};

/// Twice the signed area, positive when anticlockwise.
double twice_signed_area(const Ring& ring);

}  // namespace subcrop::io
