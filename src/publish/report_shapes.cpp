#include "publish/report_shapes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <vector>

namespace subcrop::publish {

namespace {

using Json = nlohmann::ordered_json;

/// With more vertices the grid is made coarser, so that the page opens on a telephone.
constexpr std::size_t many_vertices = 200'000;

struct Cell {
    std::int64_t x = 0, y = 0;
    friend bool operator==(const Cell&, const Cell&) = default;
};

bool between(Cell a, Cell b, Cell c) {
    const std::int64_t ux = b.x - a.x, uy = b.y - a.y, vx = c.x - b.x, vy = c.y - b.y;
    return ux * vy == uy * vx && ux * vx + uy * vy > 0;
}

Json flat(const std::vector<Cell>& cells) {
    Json list = Json::array();
    for (const Cell cell : cells) {
        list.push_back(cell.x);
        list.push_back(cell.y);
    }
    return list;
}

std::vector<Cell> thinned(const std::vector<Point>& points, Point origin, double step_m) {
    std::vector<Cell> cells;
    for (const Point p : points) {
        const Cell cell{std::llround((p.x - origin.x) / step_m), std::llround((p.y - origin.y) / step_m)};
        if (!cells.empty() && cells.back() == cell) continue;
        if (cells.size() > 1 && between(cells[cells.size() - 2], cells.back(), cell))
            cells.back() = cell;
        else
            cells.push_back(cell);
    }
    return cells;
}

}  // namespace

DrawnShapes::DrawnShapes(const Results& results) {
    Box box = results.map.extent();
    for (const model::Stop& stop : results.survey.stops) box.add(stop.position);
    if (box.empty()) box.add(Point{});
    origin_ = {std::floor(box.min_x), std::floor(box.min_y)};
    std::size_t vertices = 0;
    for (const model::MapPolygon& polygon : results.map.polygons()) {
        vertices += polygon.polygon.shell.size();
        for (const Ring& hole : polygon.polygon.holes) vertices += hole.size();
    }
    double finest = std::max({box.width(), box.height(), 1.0}) / 30'000;
    if (vertices > many_vertices) finest *= static_cast<double>(vertices) / many_vertices;
    constexpr std::array<double, 3> mantissas{1, 2, 5};
    for (double decade = 0.01; decade < 1e9; decade *= 10) {
        for (const double mantissa : mantissas) {
            step_m_ = mantissa * decade;
            if (step_m_ >= finest) return;
        }
    }
}

Json DrawnShapes::line(const Line& line) const { return flat(thinned(line, origin_, step_m_)); }

Json DrawnShapes::ring(const Ring& ring) const {
    std::vector<Cell> cells = thinned(ring, origin_, step_m_);
    if (cells.size() > 1 && cells.front() == cells.back()) cells.pop_back();
    return cells.size() < 3 ? Json::array() : flat(cells);
}

Json DrawnShapes::polygon(const Polygon& polygon) const {
    Json rings = Json::array();
    Json shell = ring(polygon.shell);
    if (shell.empty()) return rings;
    rings.push_back(std::move(shell));
    for (const Ring& hole : polygon.holes) {
        Json inner = ring(hole);
        if (!inner.empty()) rings.push_back(std::move(inner));
    }
    return rings;
}

}  // namespace subcrop::publish
