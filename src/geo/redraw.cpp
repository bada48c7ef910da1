#include "subcrop/geo/redraw.hpp"

#include <algorithm>
#include <cstdint>
#include <functional>
#include <limits>
#include <map>
#include <memory>
#include <numeric>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>

#include "geo/edge_table.hpp"
#include "geo/faces.hpp"
#include "geo/geos_handle.hpp"
#include "geo/geos_polygon.hpp"
#include "geo/ring_linker.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::geo {

namespace {

constexpr std::size_t nothing = std::numeric_limits<std::size_t>::max();
/// Giving a crumb away may make another one beside it. This many rounds find all, except for unusual shapes.
constexpr int crumb_rounds = 4;

/// A face: enclosed by lines on all sides and crossed by none.
struct Face {
    Polygon polygon;
    double area_m2 = 0;
    std::size_t below = nothing;  ///< polygon of the map
    std::size_t area = nothing;   ///< that lies over it, if one is drawn here
};

/// Polygons and areas that are connected by overlaps, redrawn separately from the rest.
class Redrawing {
public:
    Redrawing(const std::vector<model::MapPolygon>& map, const std::vector<model::MapPolygon>& areas,
              std::vector<std::size_t> polygons_met, std::vector<std::size_t> areas_met, const LeastDrawn& least)
        : map_(map),
          areas_(areas),
          polygons_(std::move(polygons_met)),
          own_areas_(std::move(areas_met)),
          least_(least) {
        find_faces();
        find_neighbours();
    }

    std::vector<Redrawn> take() {
        for (int round = 0; round < crumb_rounds; ++round) {
            join_faces();
            if (!give_crumbs_away()) break;
        }
        join_faces();
        return polygons();
    }

private:
    model::UnitIndex unit_of(const Face& face) const {
        return face.area != nothing ? areas_[face.area].unit : map_[face.below].unit;
    }
    bool redrawn(const Face& face) const { return unit_of(face) != map_[face.below].unit; }

    void find_faces() {
        std::vector<Line> lines;
        const auto add_lines = [&](const Polygon& polygon) {
            lines.push_back(polygon.shell);
            lines.insert(lines.end(), polygon.holes.begin(), polygon.holes.end());
        };
        for (const std::size_t i : polygons_) add_lines(map_[i].polygon);
        for (const std::size_t i : own_areas_) add_lines(areas_[i].polygon);
        std::vector<Over> below, above;
        for (const std::size_t i : polygons_) below.push_back(over(map_[i].polygon, i));
        for (const std::size_t i : own_areas_) above.push_back(over(areas_[i].polygon, i));
        for (Enclosed& enclosed : enclosed_by(context_, lines)) {
            Face face;
            face.below = first_over(below, enclosed.inside.get());
            if (face.below == nothing) continue;  // off the map
            face.area = first_over(above, enclosed.inside.get());
            face.area_m2 = area_m2(enclosed.polygon);
            face.polygon = std::move(enclosed.polygon);
            faces_.push_back(std::move(face));
        }
        // GEOS does not guarantee the order of faces.
        std::sort(faces_.begin(), faces_.end(), [](const Face& a, const Face& b) {
            if (a.below != b.below) return a.below < b.below;
            const Point p = *std::min_element(a.polygon.shell.begin(), a.polygon.shell.end(), before);
            const Point q = *std::min_element(b.polygon.shell.begin(), b.polygon.shell.end(), before);
            return p == q ? a.area_m2 < b.area_m2 : before(p, q);
        });
    }

    struct Over {
        std::size_t number;
        GeosGeometry geometry;
        std::unique_ptr<const GEOSPreparedGeometry, std::function<void(const GEOSPreparedGeometry*)>> prepared;
    };
    Over over(const Polygon& polygon, std::size_t number) {
        Over result{number, geos_polygon(context_, polygon), {}};
        if (!result.geometry) geos_failed(context_, "read a polygon");
        result.prepared = {GEOSPrepare_r(context_.get(), result.geometry.get()),
                           [this](const GEOSPreparedGeometry* g) { GEOSPreparedGeom_destroy_r(context_.get(), g); }};
        return result;
    }
    std::size_t first_over(const std::vector<Over>& candidates, const GEOSGeometry* place) const {
        for (const Over& one : candidates)
            if (GEOSPreparedIntersects_r(context_.get(), one.prepared.get(), place) == 1) return one.number;
        return nothing;
    }

    void find_neighbours() {
        for (std::uint32_t f = 0; f < faces_.size(); ++f) {
            for_each_edge(faces_[f].polygon, [&](Point from, Point to) {
                const bool forward = before(from, to);
                Side& side = sides_[forward ? EdgeKey{from, to} : EdgeKey{to, from}];
                (forward ? side.left : side.right) = f;
            });
        }
        for (const auto& [edge, side] : sides_) {
            if (side.left == none || side.right == none || side.left == side.right) continue;
            shared_[{std::min(side.left, side.right), std::max(side.left, side.right)}] += distance(edge.a, edge.b);
        }
    }

    /// Faces of one polygon stay together; those of one unit do where an area lies over one of them.
    void join_faces() {
        Together together(faces_.size());
        for (const auto& [pair, length] : shared_) {
            const Face &a = faces_[pair.first], &b = faces_[pair.second];
            if (unit_of(a) != unit_of(b)) continue;
            if (a.below == b.below || redrawn(a) || redrawn(b)) together.join(pair.first, pair.second);
        }
        piece_.resize(faces_.size());
        for (std::size_t f = 0; f < faces_.size(); ++f) piece_[f] = together.name(f);
    }

    bool holds_least_disc(const std::vector<std::uint32_t>& faces) const {
        std::vector<GeosGeometry> parts;
        for (const std::uint32_t f : faces) parts.push_back(geos_polygon(context_, faces_[f].polygon));
        const GeosGeometry whole = geos_union(context_, std::move(parts));
        const GeosGeometry eaten =
            owned(context_, whole ? GEOSBuffer_r(context_.get(), whole.get(), -least_.min_width_m / 2, 4) : nullptr);
        if (!eaten) geos_failed(context_, "measure how wide an area is");
        return GEOSisEmpty_r(context_.get(), eaten.get()) != 1;
    }

    bool is_crumb(const std::vector<std::uint32_t>& faces, double area) const {
        return area < least_.min_area_m2 || !holds_least_disc(faces);
    }

    /// Small new areas go back to the map, also where they only widen a polygon; small rests of polygons go to the area
    /// beside them.
    bool give_crumbs_away() {
        bool any = false;
        Together together(faces_.size());
        for (const auto& [pair, length] : shared_) {
            const Face &a = faces_[pair.first], &b = faces_[pair.second];
            if (redrawn(a) && redrawn(b) && unit_of(a) == unit_of(b)) together.join(pair.first, pair.second);
        }
        std::map<std::size_t, std::vector<std::uint32_t>> additions, pieces;
        for (std::uint32_t f = 0; f < faces_.size(); ++f)
            if (redrawn(faces_[f])) additions[together.name(f)].push_back(f);
        for (const auto& [name, faces] : additions) {
            if (!is_crumb(faces, total_area(faces))) continue;
            for (const std::uint32_t f : faces) faces_[f].area = nothing;
            any = true;
        }
        if (any) join_faces();
        for (std::uint32_t f = 0; f < faces_.size(); ++f)
            if (!redrawn(faces_[f])) pieces[piece_[f]].push_back(f);
        for (const auto& [name, faces] : pieces) {
            const auto beside = largest_redrawn_beside(name);
            const double area = total_area(faces);
            // Polygons that no area touches stay unchanged, however small.
            if (!beside || !cut_from_larger(faces, area) || !is_crumb(faces, area)) continue;
            for (const std::uint32_t f : faces) faces_[f].area = *beside;
            any = true;
        }
        return any;
    }

    double total_area(const std::vector<std::uint32_t>& faces) const {
        double sum = 0;
        for (const std::uint32_t f : faces) sum += faces_[f].area_m2;
        return sum;
    }

    /// A small polygon of the map that areas leave whole is no crumb.
    bool cut_from_larger(const std::vector<std::uint32_t>& faces, double area) const {
        double whole = 0;
        std::vector<std::size_t> below;
        for (const std::uint32_t f : faces) below.push_back(faces_[f].below);
        for (const Face& face : faces_)
            if (std::find(below.begin(), below.end(), face.below) != below.end()) whole += face.area_m2;
        return area < 0.99 * whole;
    }

    std::optional<std::size_t> largest_redrawn_beside(std::size_t piece) const {
        std::map<std::size_t, double> length;
        for (const auto& [pair, metres] : shared_) {
            const bool first = piece_[pair.first] == piece, second = piece_[pair.second] == piece;
            if (first == second) continue;
            const Face& other = faces_[first ? pair.second : pair.first];
            if (redrawn(other)) length[other.area] += metres;
        }
        if (length.empty()) return std::nullopt;
        return std::max_element(length.begin(), length.end(),
                                [](const auto& a, const auto& b) { return a.second < b.second; })
            ->first;
    }

    std::vector<Redrawn> polygons() {
        std::map<std::size_t, std::vector<std::uint32_t>> pieces;
        for (std::uint32_t f = 0; f < faces_.size(); ++f) pieces[piece_[f]].push_back(f);
        std::map<std::size_t, std::size_t> pieces_of_polygon;  // of those that no area touched
        std::vector<Redrawn> result;
        for (const auto& [name, faces] : pieces) {
            Redrawn drawn;
            std::map<std::size_t, double> by_polygon;
            for (const std::uint32_t f : faces) {
                by_polygon[faces_[f].below] += faces_[f].area_m2;
                if (redrawn(faces_[f])) drawn.redrawn_m2 += faces_[f].area_m2;
            }
            drawn.polygon.unit = unit_of(faces_[faces.front()]);
            double largest = 0;
            for (const auto& [polygon, area] : by_polygon) {
                drawn.parts.push_back(polygon);
                if (map_[polygon].unit != drawn.polygon.unit || area <= largest) continue;
                largest = area;
                drawn.polygon.row = map_[polygon].row;
            }
            drawn.as_it_was = drawn.parts.size() == 1 && drawn.redrawn_m2 == 0 && whole(drawn.parts[0], name);
            if (drawn.as_it_was) {
                drawn.polygon = map_[drawn.parts[0]];
                result.push_back(std::move(drawn));
            } else {
                append(faces, name, std::move(drawn), result);
            }
        }
        return result;
    }

    bool whole(std::size_t polygon, std::size_t piece) const {
        for (std::size_t f = 0; f < faces_.size(); ++f)
            if (faces_[f].below == polygon && piece_[f] != piece) return false;
        return true;
    }

    void append(const std::vector<std::uint32_t>& faces, std::size_t piece, Redrawn drawn,
                std::vector<Redrawn>& result) {
        std::vector<DirectedEdge> edges;
        for (const std::uint32_t f : faces) {
            for_each_edge(faces_[f].polygon, [&](Point from, Point to) {
                const Side& side = sides_.at(before(from, to) ? EdgeKey{from, to} : EdgeKey{to, from});
                const std::uint32_t across = side.left == f ? side.right : side.left;
                if (across == none || piece_[across] != piece) edges.push_back({from, to});
            });
        }
        if (auto polygon = link_rings(edges)) {
            drawn.polygon.polygon = std::move(*polygon);
            result.push_back(std::move(drawn));
            return;
        }
        for (const std::uint32_t f : faces) {  // unusual shapes stay as separate faces
            Redrawn part = drawn;
            part.polygon.polygon = faces_[f].polygon;
            part.redrawn_m2 = redrawn(faces_[f]) ? faces_[f].area_m2 : 0;
            result.push_back(std::move(part));
        }
    }

    const std::vector<model::MapPolygon>& map_;
    const std::vector<model::MapPolygon>& areas_;
    std::vector<std::size_t> polygons_, own_areas_;
    LeastDrawn least_;
    GeosContext context_;
    std::vector<Face> faces_;
    std::unordered_map<EdgeKey, Side, EdgeHash> sides_;
    std::map<std::pair<std::uint32_t, std::uint32_t>, double> shared_;  ///< faces: length of their common edges
    std::vector<std::size_t> piece_;                                    ///< one a face
};

bool share_ground(const GeosContext& context, const Polygon& a, const Polygon& b) {
    const GeosGeometry one = geos_polygon(context, a), other = geos_polygon(context, b);
    return one && other && GEOSIntersects_r(context.get(), one.get(), other.get()) == 1 &&
           GEOSTouches_r(context.get(), one.get(), other.get()) != 1;
}

}  // namespace

std::vector<Redrawn> redraw(const std::vector<model::MapPolygon>& map, const std::vector<model::MapPolygon>& areas,
                            const LeastDrawn& least) {
    std::vector<Box> boxes;
    for (const model::MapPolygon& polygon : map) boxes.push_back(box_of(polygon.polygon.shell));
    Together together(map.size() + areas.size());
    std::vector<std::uint8_t> met(map.size(), 0);
    const GeosContext context;
    for (std::size_t a = 0; a < areas.size(); ++a) {
        const Box box = box_of(areas[a].polygon.shell);
        for (std::size_t i = 0; i < map.size(); ++i) {
            if (!meet(boxes[i], box) || !share_ground(context, map[i].polygon, areas[a].polygon)) continue;
            met[i] = 1;
            together.join(i, map.size() + a);
        }
    }
    std::map<std::size_t, std::pair<std::vector<std::size_t>, std::vector<std::size_t>>> groups;
    for (std::size_t i = 0; i < map.size(); ++i)
        if (met[i]) groups[together.name(i)].first.push_back(i);
    for (std::size_t a = 0; a < areas.size(); ++a) {
        const std::size_t name = together.name(map.size() + a);
        if (name < map.size()) groups[name].second.push_back(a);
    }
    std::vector<Redrawn> result;
    for (std::size_t i = 0; i < map.size(); ++i)
        if (!met[i]) result.push_back({map[i], {i}, 0, true});
    for (auto& [name, group] : groups) {
        Redrawing redrawing(map, areas, std::move(group.first), std::move(group.second), least);
        for (Redrawn& one : redrawing.take()) result.push_back(std::move(one));
    }
    // In the map's order by the first part that is of the same unit; what has none is new.
    const auto place = [&](const Redrawn& one) {
        for (const std::size_t part : one.parts)
            if (map[part].unit == one.polygon.unit) return part;
        return map.size();
    };
    std::stable_sort(result.begin(), result.end(),
                     [&](const Redrawn& a, const Redrawn& b) { return place(a) < place(b); });
    return result;
}

}  // namespace subcrop::geo
