// Maps made for tests: jittered four-sided cells whose rough edges neighbours share bit for bit.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::geo {

struct InventedMap {
    int columns = 10;
    int rows = 10;
    double cell_m = 100;
    int levels = 3;  ///< each cell's side is halved so often: 2^levels segments
    int units = 5;
    bool islands = false;  ///< an island in every third cell, filling a hole of its host
    std::uint32_t seed = 1;
    Point origin{500000, 5300000};
};

/// A figure in [-1, 1] that depends on its arguments alone.
inline double noise(std::uint32_t seed, std::uint64_t key) {
    std::uint64_t z = key * 0x9e3779b97f4a7c15ull + seed * 0xbf58476d1ce4e5b9ull + 0x94d049bb133111ebull;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    z ^= z >> 31;
    return static_cast<double>(z >> 11) * 0x1p-52 - 1;
}

/// Points from `a` (left out) to `b`, displaced sideways at each halving.
inline void rough_line(Point a, Point b, int levels, std::uint32_t seed, std::uint64_t key, std::vector<Point>& line) {
    if (levels == 0) {
        line.push_back(b);
        return;
    }
    const double sideways = 0.07 * noise(seed, key);
    const Point middle{(a.x + b.x) / 2 - sideways * (b.y - a.y), (a.y + b.y) / 2 + sideways * (b.x - a.x)};
    rough_line(a, middle, levels - 1, seed, key * 2 + 1, line);
    rough_line(middle, b, levels - 1, seed, key * 2 + 2, line);
}

inline std::vector<model::MapPolygon> invent_map(const InventedMap& plan) {
    const auto corner = [&](int column, int row) {
        const auto key = static_cast<std::uint64_t>(row) * 100003u + static_cast<std::uint64_t>(column);
        return Point{plan.origin.x + plan.cell_m * (column + 0.15 * noise(plan.seed, key)),
                     plan.origin.y + plan.cell_m * (row + 0.15 * noise(plan.seed + 1, key))};
    };
    // A side of a cell as its two neighbours see it: from the west or south end.
    const auto side = [&](int column, int row, bool north) {
        std::vector<Point> line{corner(column, row)};
        const std::uint64_t key =
            (static_cast<std::uint64_t>(row) * 100003u + static_cast<std::uint64_t>(column)) * 2 + north;
        rough_line(line[0], north ? corner(column, row + 1) : corner(column + 1, row), plan.levels, plan.seed + 2,
                   key << 16, line);
        return line;
    };
    const auto unit_of = [&](std::uint64_t key) {
        return static_cast<model::UnitIndex>((noise(plan.seed + 3, key) + 1) / 2 * plan.units * 0.999999);
    };
    std::vector<model::MapPolygon> map;
    for (int row = 0; row < plan.rows; ++row) {
        for (int column = 0; column < plan.columns; ++column) {
            const auto south = side(column, row, false), east = side(column + 1, row, true);
            const auto north = side(column, row + 1, false), west = side(column, row, true);
            const auto key = static_cast<std::uint64_t>(row) * static_cast<std::uint64_t>(plan.columns) +
                             static_cast<std::uint64_t>(column);
            model::MapPolygon polygon;
            polygon.unit = unit_of(key);
            polygon.row = static_cast<std::int64_t>(map.size()) + 1;
            Ring& ring = polygon.polygon.shell;
            ring.insert(ring.end(), south.begin(), south.end());
            ring.insert(ring.end(), east.begin() + 1, east.end());
            ring.insert(ring.end(), north.rbegin() + 1, north.rend());
            ring.insert(ring.end(), west.rbegin() + 1, west.rend());
            if (key % 2 == 1) ring = Ring(ring.rbegin(), ring.rend());  // either direction occurs in practice
            if (plan.islands && key % 3 == 0) {
                const Point centre{plan.origin.x + plan.cell_m * (column + 0.5),
                                   plan.origin.y + plan.cell_m * (row + 0.5)};
                Ring island;
                for (int i = 0; i < 12; ++i) {
                    const double angle = i * 6.283185307179586 / 12,
                                 radius = plan.cell_m * (0.12 + 0.04 * noise(plan.seed + 4, key * 12 + i));
                    island.push_back({centre.x + radius * std::cos(angle), centre.y + radius * std::sin(angle)});
                }
                island.push_back(island.front());
                polygon.polygon.holes.push_back(Ring(island.rbegin(), island.rend()));
                map.push_back(std::move(polygon));
                model::MapPolygon filling;
                filling.unit = (map.back().unit + 1) % plan.units;
                filling.row = static_cast<std::int64_t>(map.size()) + 1;
                filling.polygon.shell = std::move(island);
                map.push_back(std::move(filling));
                continue;
            }
            map.push_back(std::move(polygon));
        }
    }
    return map;
}

/// Every point of a map through `change(Point&)`.
template <class Change>
void change_points(std::vector<model::MapPolygon>& map, Change&& change) {
    for (model::MapPolygon& polygon : map) {
        for (Point& p : polygon.polygon.shell) change(p);
        for (Ring& hole : polygon.polygon.holes) {
            for (Point& p : hole) change(p);
        }
    }
}

inline model::MapPolygon box_polygon(model::UnitIndex unit, std::int64_t row, double west, double south, double east,
                                     double north) {
    return {unit, row, Polygon{{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}, {}}};
}

}  // namespace subcrop::geo
