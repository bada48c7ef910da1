#include "subcrop/geo/map_changes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <tuple>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "geo/edge_table.hpp"
#include "geo/faces.hpp"
#include "geo/geos_handle.hpp"
#include "geo/point_hash.hpp"
#include "geo/ring_linker.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {

namespace {

using Edges = std::unordered_set<EdgeKey, EdgeHash>;

EdgeKey key_of(Point a, Point b) { return before(a, b) ? EdgeKey{a, b} : EdgeKey{b, a}; }

Edges edges_of(const std::vector<model::MapPolygon>& map) {
    Edges result;
    for (const model::MapPolygon& polygon : map)
        for_each_edge(polygon.polygon, [&](Point a, Point b) { result.insert(key_of(a, b)); });
    return result;
}

/// Which parts of the plane hold an edge that only one of the maps has.
class WhereTheyDiffer {
public:
    WhereTheyDiffer(const Box& extent, const Edges& first, const Edges& second)
        : extent_(extent), marked_((side + 1) * (side + 1), 0) {
        for (const EdgeKey& edge : first)
            if (!second.contains(edge)) mark(edge);
        for (const EdgeKey& edge : second)
            if (!first.contains(edge)) mark(edge);
        for (std::size_t row = 1; row <= side; ++row)
            for (std::size_t column = 1; column <= side; ++column)
                at(row, column) += at(row - 1, column) + at(row, column - 1) - at(row - 1, column - 1);
    }
    bool anywhere() const { return any_; }
    /// An edge in the box, or beside it in the same cell.
    bool in(const Box& box) const {
        const Cells c = cells_of(box);
        return at(c.high + 1, c.right + 1) - at(c.low, c.right + 1) - at(c.high + 1, c.left) + at(c.low, c.left) > 0;
    }

private:
    static constexpr std::size_t side = 512;
    struct Cells {
        std::size_t left, right, low, high;
    };

    Cells cells_of(const Box& box) const {
        const auto cell = [](double value, double least, double width) {
            const double at = width > 0 ? (value - least) / width * static_cast<double>(side) : 0;
            return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(side - 1)));
        };
        return {cell(box.min_x, extent_.min_x, extent_.width()), cell(box.max_x, extent_.min_x, extent_.width()),
                cell(box.min_y, extent_.min_y, extent_.height()), cell(box.max_y, extent_.min_y, extent_.height())};
    }
    void mark(const EdgeKey& edge) {
        any_ = true;
        const std::array<Point, 2> ends{edge.a, edge.b};
        const Cells c = cells_of(box_of(ends));
        for (std::size_t row = c.low; row <= c.high; ++row)
            for (std::size_t column = c.left; column <= c.right; ++column) at(row + 1, column + 1) = 1;
    }
    std::int32_t& at(std::size_t row, std::size_t column) { return marked_[row * (side + 1) + column]; }
    std::int32_t at(std::size_t row, std::size_t column) const { return marked_[row * (side + 1) + column]; }

    Box extent_;
    std::vector<std::int32_t> marked_;  ///< 1 where an edge differs, then summed from the corner
    bool any_ = false;
};

/// The polygons as a map that tells which of them lies at a place.
UnitMap numbered(const std::vector<model::MapPolygon>& map, const std::vector<std::uint32_t>& which) {
    std::vector<model::MapPolygon> polygons;
    for (const std::uint32_t i : which)
        polygons.push_back({static_cast<model::UnitIndex>(polygons.size()), 0, map[i].polygon});
    ProblemLog unheard;
    const std::size_t count = polygons.size();
    return UnitMap(std::move(polygons), count, {}, unheard);
}

Point min_corner(const Polygon& polygon) {
    return *std::min_element(polygon.shell.begin(), polygon.shell.end(), before);
}

std::unordered_map<EdgeKey, Side, EdgeHash> sides_of(const std::vector<const Polygon*>& faces) {
    std::unordered_map<EdgeKey, Side, EdgeHash> sides;
    for (std::uint32_t f = 0; f < faces.size(); ++f) {
        for_each_edge(*faces[f], [&](Point from, Point to) {
            const bool forward = before(from, to);
            Side& side = sides[key_of(from, to)];
            (forward ? side.left : side.right) = f;
        });
    }
    return sides;
}

/// Connected faces as polygons: the edges without another face of `mine` across.
std::optional<Polygon> joined(const std::vector<std::uint32_t>& faces, const std::vector<const Polygon*>& grounds,
                              const std::unordered_map<EdgeKey, Side, EdgeHash>& sides,
                              const std::vector<std::size_t>& piece) {
    std::vector<DirectedEdge> edges;
    for (const std::uint32_t f : faces) {
        for_each_edge(*grounds[f], [&](Point from, Point to) {
            const Side& side = sides.at(key_of(from, to));
            const std::uint32_t across = side.left == f ? side.right : side.left;
            if (across == none || piece[across] != piece[f]) edges.push_back({from, to});
        });
    }
    return link_rings(edges);
}

/// Vertices that only lines of changes not carried out left in an edge of the first map.
class NeedlessVertices {
public:
    /// `piece`: of each face. `old_line(f, g)`: the first map has a line between these faces.
    template <class OldLine>
    NeedlessVertices(const std::unordered_map<EdgeKey, Side, EdgeHash>& sides, const std::vector<std::size_t>& piece,
                     const std::unordered_set<Point, PointHash>& drafted, OldLine&& old_line) {
        struct Use {
            int lines = 0;
            bool old = true;
        };
        std::unordered_map<Point, Use, PointHash> uses;
        for (const auto& [edge, side] : sides) {
            if (side.left != none && side.right != none && piece[side.left] == piece[side.right]) continue;
            const bool old = side.left == none || side.right == none || old_line(side.left, side.right);
            for (const Point end : {edge.a, edge.b}) {
                Use& use = uses[end];
                ++use.lines;
                use.old = use.old && old;
            }
        }
        for (const auto& [place, use] : uses)
            if (use.lines == 2 && use.old && !drafted.contains(place)) needless_.insert(place);
    }

    void take_out(Polygon& polygon) const {
        take_out(polygon.shell);
        for (Ring& hole : polygon.holes) take_out(hole);
    }

private:
    void take_out(Ring& ring) const {
        ring.pop_back();
        std::erase_if(ring, [&](Point p) { return needless_.contains(p); });
        ring.push_back(ring.front());
    }
    std::unordered_set<Point, PointHash> needless_;
};

/// Areas narrower than this on average are rounding between equal lines.
constexpr double rounding_width_m = 1e-5;

bool is_rounding(double area_m2, double perimeter_m) { return area_m2 < rounding_width_m * perimeter_m / 2; }

double perimeter_m(const Polygon& polygon) {
    double sum = 0;
    for_each_edge(polygon, [&](Point a, Point b) { sum += distance(a, b); });
    return sum;
}

std::size_t vertices_of(const Polygon& polygon) {
    std::size_t count = polygon.shell.size();
    for (const Ring& hole : polygon.holes) count += hole.size();
    return count;
}

}  // namespace

MapChanges::MapChanges(const std::vector<model::MapPolygon>& before, const std::vector<model::MapPolygon>& after) {
    find_faces(before, after);
    find_areas(before);
}

void MapChanges::find_faces(const std::vector<model::MapPolygon>& before_map,
                            const std::vector<model::MapPolygon>& after) {
    Box extent;
    for (const model::MapPolygon& polygon : before_map) extent.add(box_of(polygon.polygon.shell));
    for (const model::MapPolygon& polygon : after) extent.add(box_of(polygon.polygon.shell));
    const WhereTheyDiffer differ(extent, edges_of(before_map), edges_of(after));
    if (!differ.anywhere()) return;
    Edges edges;
    const auto concerned = [&](const std::vector<model::MapPolygon>& map) {
        std::vector<std::uint32_t> result;
        for (std::uint32_t i = 0; i < map.size(); ++i) {
            if (!differ.in(box_of(map[i].polygon.shell))) continue;
            result.push_back(i);
            for_each_edge(map[i].polygon, [&](Point a, Point b) { edges.insert(key_of(a, b)); });
        }
        return result;
    };
    const std::vector<std::uint32_t> first = concerned(before_map), second = concerned(after);
    std::vector<EdgeKey> sorted(edges.begin(), edges.end());
    std::sort(sorted.begin(), sorted.end(), [](const EdgeKey& a, const EdgeKey& b) {
        return std::tie(a.a.x, a.a.y, a.b.x, a.b.y) < std::tie(b.a.x, b.a.y, b.b.x, b.b.y);
    });
    std::vector<Line> lines;
    for (const EdgeKey& edge : sorted) lines.push_back({edge.a, edge.b});
    const GeosContext context;
    const UnitMap below = numbered(before_map, first), above = numbered(after, second);
    for (Enclosed& enclosed : enclosed_by(context, lines)) {
        Point inside;
        GEOSGeomGetX_r(context.get(), enclosed.inside.get(), &inside.x);
        GEOSGeomGetY_r(context.get(), enclosed.inside.get(), &inside.y);
        const model::UnitIndex was = below.unit_at(inside), is = above.unit_at(inside);
        if (was == model::no_unit) continue;
        Face face;
        face.before = first[static_cast<std::size_t>(was)];
        face.after =
            is == model::no_unit ? before_map[face.before].unit : after[second[static_cast<std::size_t>(is)]].unit;
        face.area = none;
        face.ground = std::move(enclosed.polygon);
        face.area_m2 = geo::area_m2(face.ground);
        face.perimeter_m = perimeter_m(face.ground);
        faces_.push_back(std::move(face));
    }
    // GEOS does not guarantee the order of faces.
    std::sort(faces_.begin(), faces_.end(), [](const Face& a, const Face& b) {
        if (a.before != b.before) return a.before < b.before;
        const Point p = min_corner(a.ground), q = min_corner(b.ground);
        return p == q ? a.area_m2 < b.area_m2 : geo::before(p, q);
    });
}

void MapChanges::find_areas(const std::vector<model::MapPolygon>& before_map) {
    std::vector<const Polygon*> grounds;
    for (const Face& face : faces_) grounds.push_back(&face.ground);
    const auto sides = sides_of(grounds);
    std::map<std::pair<std::uint32_t, std::uint32_t>, double> lengths;
    for (const auto& [edge, side] : sides) {
        if (side.left == none || side.right == none || side.left == side.right) continue;
        lengths[{std::min(side.left, side.right), std::max(side.left, side.right)}] += distance(edge.a, edge.b);
    }
    for (const auto& [pair, length] : lengths) shared_.push_back({pair.first, pair.second, length});
    const auto unit = [&](std::uint32_t f) { return before_map[faces_[f].before].unit; };
    const auto changed = [&](std::uint32_t f) { return faces_[f].after != unit(f); };
    Together together(faces_.size());
    for (const Shared& pair : shared_)
        if (changed(pair.first) && changed(pair.second) && unit(pair.first) == unit(pair.second) &&
            faces_[pair.first].after == faces_[pair.second].after)
            together.join(pair.first, pair.second);
    std::map<std::size_t, std::vector<std::uint32_t>> pieces;
    std::vector<std::size_t> piece(faces_.size());
    for (std::uint32_t f = 0; f < faces_.size(); ++f) {
        piece[f] = together.name(f);
        if (changed(f)) pieces[piece[f]].push_back(f);
    }
    for (const auto& [name, faces] : pieces) {
        ChangedArea area{unit(faces.front()), faces_[faces.front()].after, {}, 0, {}};
        auto ground = joined(faces, grounds, sides, piece);
        if (ground) {
            area.ground = std::move(*ground);
        } else {  // an unusual shape: its largest face represents it
            area.ground = faces_[largest_of(faces)].ground;
        }
        for (const std::uint32_t f : faces) area.area_m2 += faces_[f].area_m2;
        if (is_rounding(area.area_m2, perimeter_m(area.ground))) continue;
        for (const std::uint32_t f : faces) faces_[f].area = static_cast<std::uint32_t>(areas_.size());
        area.inside = place_inside(area.ground);
        areas_.push_back(std::move(area));
    }
    std::map<std::pair<std::uint32_t, std::uint32_t>, double> beside;
    for (const Shared& pair : shared_) {
        const std::uint32_t a = faces_[pair.first].area, b = faces_[pair.second].area;
        if (a != none && b != none && a != b) beside[{std::min(a, b), std::max(a, b)}] += pair.length_m;
    }
    for (const auto& [pair, length] : beside) beside_.push_back({pair.first, pair.second, length});
}

std::uint32_t MapChanges::largest_of(std::span<const std::uint32_t> faces) const {
    return *std::max_element(faces.begin(), faces.end(),
                             [&](std::uint32_t a, std::uint32_t b) { return faces_[a].area_m2 < faces_[b].area_m2; });
}

/// Remains of rounding are given to the neighbouring face.
template <class Sets>
void MapChanges::give_rounding_away(Sets& together) const {
    std::map<std::size_t, std::pair<double, double>> size;  // area, perimeter less what is shared inside
    for (std::uint32_t f = 0; f < faces_.size(); ++f) {
        auto& [area, perimeter] = size[together.name(f)];
        area += faces_[f].area_m2;
        perimeter += faces_[f].perimeter_m;
    }
    std::map<std::size_t, std::pair<double, std::uint32_t>> beside;  // the longest edge of a tiny piece, and across it
    for (const Shared& pair : shared_) {
        const std::size_t a = together.name(pair.first), b = together.name(pair.second);
        if (a == b) continue;
        for (const auto& [own, other, across] : {std::tuple{a, b, pair.second}, std::tuple{b, a, pair.first}}) {
            const bool larger = size[other].first > size[own].first;
            if (!larger || !is_rounding(size[own].first, size[own].second)) continue;
            auto& best = beside[own];
            if (pair.length_m > best.first) best = {pair.length_m, across};
        }
    }
    for (const auto& [piece, best] : beside) together.join(piece, best.second);
}

std::vector<CarriedOut> MapChanges::carried_out(const std::vector<model::MapPolygon>& before_map,
                                                std::span<const std::uint8_t> accepted) const {
    const auto redrawn = [&](std::uint32_t f) { return faces_[f].area != none && accepted[faces_[f].area] != 0; };
    const auto unit = [&](std::uint32_t f) { return redrawn(f) ? faces_[f].after : before_map[faces_[f].before].unit; };
    Together together(faces_.size());
    for (const Shared& pair : shared_) {
        const bool one_polygon = faces_[pair.first].before == faces_[pair.second].before;
        if (unit(pair.first) == unit(pair.second) && (one_polygon || redrawn(pair.first) || redrawn(pair.second)))
            together.join(pair.first, pair.second);
    }
    give_rounding_away(together);
    std::vector<std::size_t> piece(faces_.size());
    std::map<std::size_t, std::vector<std::uint32_t>> pieces;
    std::vector<const Polygon*> grounds;
    for (std::uint32_t f = 0; f < faces_.size(); ++f) {
        piece[f] = together.name(f);
        pieces[piece[f]].push_back(f);
        grounds.push_back(&faces_[f].ground);
    }
    std::unordered_set<Point, PointHash> drafted;
    std::vector<std::uint8_t> concerned(before_map.size(), 0);
    for (const Face& face : faces_) concerned[face.before] = 1;
    for (std::size_t i = 0; i < before_map.size(); ++i)
        if (concerned[i]) for_each_edge(before_map[i].polygon, [&](Point a, Point) { drafted.insert(a); });
    const auto sides = sides_of(grounds);
    const NeedlessVertices needless(
        sides, piece, drafted, [&](std::uint32_t a, std::uint32_t b) { return faces_[a].before != faces_[b].before; });

    std::vector<CarriedOut> result;
    std::vector<std::size_t> place;  // in the first map, of each
    for (std::size_t i = 0; i < before_map.size(); ++i) {
        if (concerned[i]) continue;
        result.push_back({before_map[i], {}, 0, true});
        place.push_back(i);
    }
    for (const auto& [name, faces] : pieces) {
        CarriedOut drawn;
        drawn.polygon.unit = unit(largest_of(faces));
        std::map<std::uint32_t, double> parts;
        for (const std::uint32_t f : faces) {
            const double area = faces_[f].area_m2;
            if (unit(f) != drawn.polygon.unit) continue;  // left by rounding
            parts[faces_[f].before] += area;
            if (!redrawn(f)) continue;
            drawn.changed_m2 += area;
            drawn.areas.push_back(faces_[f].area);
        }
        std::sort(drawn.areas.begin(), drawn.areas.end());
        drawn.areas.erase(std::unique(drawn.areas.begin(), drawn.areas.end()), drawn.areas.end());
        double largest = 0;
        std::size_t at = before_map.size();
        for (const auto& [polygon, area] : parts) {
            if (before_map[polygon].unit != drawn.polygon.unit) continue;
            at = std::min<std::size_t>(at, polygon);
            if (area <= largest) continue;
            largest = area;
            drawn.polygon.row = before_map[polygon].row;
        }
        const auto append = [&](Polygon ground) {
            needless.take_out(ground);
            CarriedOut one = drawn;
            const std::uint32_t only = parts.begin()->first;
            one.as_it_was =
                parts.size() == 1 && drawn.changed_m2 == 0 &&
                vertices_of(ground) == vertices_of(before_map[only].polygon) &&
                std::abs(geo::area_m2(ground) - geo::area_m2(before_map[only].polygon)) < 1e-9 * geo::area_m2(ground);
            one.polygon.polygon = one.as_it_was ? before_map[only].polygon : std::move(ground);
            result.push_back(std::move(one));
            place.push_back(at);
        };
        if (auto ground = joined(faces, grounds, sides, piece)) {
            append(std::move(*ground));
        } else {  // unusual shapes stay as separate faces
            for (const std::uint32_t f : faces) append(faces_[f].ground);
        }
    }
    std::vector<std::size_t> order(result.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return place[a] < place[b]; });
    std::vector<CarriedOut> sorted;
    for (const std::size_t i : order) sorted.push_back(std::move(result[i]));
    return sorted;
}

}  // namespace subcrop::geo
