// Geometry as the report page draws it: whole steps of a grid from an origin, so that shared edges stay shared and the
// file stays small.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "subcrop/core/geometry.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

class DrawnShapes {
public:
    explicit DrawnShapes(const Results& results);

    Point origin() const { return origin_; }
    double step_m() const { return step_m_; }

    /// [x, y, x, y, ...]; coincident vertices, and vertices on a straight line between their neighbours, are removed.
    nlohmann::ordered_json line(const Line& line) const;
    /// A ring without its repeated last point; empty if no area is left.
    nlohmann::ordered_json ring(const Ring& ring) const;
    /// [ring, hole, ...]; empty if no area is left.
    nlohmann::ordered_json polygon(const Polygon& polygon) const;

private:
    Point origin_;
    double step_m_ = 1;
};

}  // namespace subcrop::publish
