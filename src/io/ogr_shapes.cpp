#include "io/ogr_shapes.hpp"

#include <utility>

namespace subcrop::io {

namespace {

Ring ring_of(const OGRLinearRing& source) {
    Ring ring = line_of(source);
    if (!ring.empty() && !(ring.front() == ring.back())) ring.push_back(ring.front());
    return ring;
}

}  // namespace

Line line_of(const OGRSimpleCurve& curve) {
    Line line(static_cast<std::size_t>(curve.getNumPoints()));
    if (!line.empty()) curve.getPoints(&line[0].x, sizeof(Point), &line[0].y, sizeof(Point));
    return line;
}

Polygon polygon_of(const OGRPolygon& source) {
    Polygon polygon;
    polygon.shell = ring_of(*source.getExteriorRing());
    const int holes = source.getNumInteriorRings();
    polygon.holes.reserve(static_cast<std::size_t>(holes));
    for (int i = 0; i < holes; ++i) {
        Ring hole = ring_of(*source.getInteriorRing(i));
        if (!hole.empty()) polygon.holes.push_back(std::move(hole));
    }
    return polygon;
}

}  // namespace subcrop::io
