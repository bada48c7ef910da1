// An invented draft map of any size: a mesh of jittered squares whose shared edges are fractal lines of 32 segments,
// bit-identical in both polygons, and whose units come from smooth random fields.
//
//     InventedGround ground(100'000, 20, seed);
//     ground.polygon(7)               // a ring of 129 points, valid, clean against its neighbours
//     ground.polygon_at(p)            // -1 outside the mesh
//     ground.rock(7)                  // unit that is there; drafted(7) is what the map says
//
// Not good at: long thin units, holes, triple junctions other than corners of four.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::bench {

class InventedGround {
public:
    static constexpr std::size_t segments = 32;  ///< of each side of a polygon
    static constexpr double side_m = 250;

    /// `polygons` of them, or about so many where no fair rectangle holds just that number, and `units` map units.
    /// `finer`: each side has a segment more, so that a polygon has 132 vertices instead of 128.
    InventedGround(std::size_t polygons, std::size_t units, std::uint64_t seed, bool finer = false);

    std::size_t polygon_count() const { return columns_ * rows_; }
    std::size_t unit_count() const { return units_; }
    Ring polygon(std::size_t index) const;
    /// Index of the polygon that holds a place, -1 outside.
    std::int64_t polygon_at(Point place) const;
    std::size_t rock(std::size_t index) const { return rock_[index]; }
    /// As the map has it: wrong in one polygon out of fifty.
    std::size_t drafted(std::size_t index) const { return drafted_[index]; }
    Box extent() const;

private:
    using Edge = std::vector<Point>;

    Point& node(std::size_t column, std::size_t row) { return nodes_[row * (columns_ + 1) + column]; }
    void place_nodes(std::uint64_t seed);
    void draw_edges(std::uint64_t seed);
    void choose_units(std::uint64_t seed);
    void make_finer();
    bool inside(std::size_t index, Point place) const;

    std::size_t columns_ = 0;
    std::size_t rows_ = 0;
    std::size_t units_ = 0;
    std::vector<Point> nodes_;     ///< (columns + 1) x (rows + 1)
    std::vector<Edge> eastward_;   ///< columns x (rows + 1), from each node to the one east of it
    std::vector<Edge> northward_;  ///< (columns + 1) x rows
    std::vector<std::size_t> rock_;
    std::vector<std::size_t> drafted_;
};

}  // namespace subcrop::bench
