#include "geo/coverage_check.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>

#include "geo/edge_grid.hpp"
#include "geo/geos_handle.hpp"
#include "geo/geos_polygon.hpp"
#include "geo/orientation.hpp"

namespace subcrop::geo {
namespace {

// Crossing an edge with a polygon on both sides does not change the number of polygons at a place. So the number is
// constant in each face that the other edges enclose. One place in a face shows whether it is a gap (none) or an
// overlap (several). On a clean map these edges are only the outer boundary.
std::vector<Edge> edges_where_cover_may_change(const EdgeTable& table) {
    std::vector<Edge> found;
    for (EdgeIndex i = 0; i < table.edges().size(); ++i) {
        const Edge& edge = table.edges()[i];
        if (!edge.dead() && (edge.open() || table.crowded(i))) found.push_back(edge);
    }
    const auto key_before = [](const Edge& p, const Edge& q) {
        return p.a != q.a ? before(p.a, q.a) : before(p.b, q.b);
    };
    std::sort(found.begin(), found.end(), key_before);
    found.erase(
        std::unique(found.begin(), found.end(), [](const Edge& p, const Edge& q) { return p.a == q.a && p.b == q.b; }),
        found.end());
    return found;
}

// Does any edge meet another other than end to end?
bool any_cross(const std::vector<Edge>& edges) {
    Box extent;
    for (const Edge& edge : edges) {
        extent.add(edge.a);
        extent.add(edge.b);
    }
    const EdgeGrid grid(edges, extent, edges.size(), 0);
    const auto meet = [](const Edge& e, const Edge& f) {
        const int f_a = orientation(e.a, e.b, f.a), f_b = orientation(e.a, e.b, f.b);
        const int e_a = orientation(f.a, f.b, e.a), e_b = orientation(f.a, f.b, e.b);
        if (f_a * f_b > 0 || e_a * e_b > 0) return false;
        const bool shared = e.a == f.a || e.a == f.b || e.b == f.a || e.b == f.b;
        if (!shared) return e.b.x >= f.a.x && f.b.x >= e.a.x;
        // With one end in common they meet once more only where they lie on one line.
        return f_a == 0 && f_b == 0;
    };
    for (std::size_t cell = 0; cell < grid.cell_count(); ++cell) {
        const auto list = grid.cell(cell);
        for (std::size_t i = 0; i < list.size(); ++i) {
            for (std::size_t k = i + 1; k < list.size(); ++k) {
                if (meet(edges[list[i]], edges[list[k]])) return true;
            }
        }
    }
    return false;
}

// Edges strung together from one place where two do not meet to the next, or round: GEOS makes polygons of few long
// lines sooner than of many short ones: 0.15 s on the map of 100,000.
std::vector<Line> strung_together(const std::vector<Edge>& edges) {
    struct End {
        Point place;
        EdgeIndex edge;
    };
    std::vector<End> ends;
    ends.reserve(2 * edges.size());
    for (EdgeIndex i = 0; i < edges.size(); ++i) {
        ends.push_back({edges[i].a, i});
        ends.push_back({edges[i].b, i});
    }
    std::sort(ends.begin(), ends.end(), [](const End& p, const End& q) {
        return p.place != q.place ? before(p.place, q.place) : p.edge < q.edge;
    });
    const auto at = [&](Point place) {
        return std::equal_range(ends.begin(), ends.end(), End{place, 0},
                                [](const End& p, const End& q) { return before(p.place, q.place); });
    };
    std::vector<std::uint8_t> used(edges.size(), 0);
    std::vector<Line> lines;
    const auto follow = [&](EdgeIndex edge, Point from) {
        Line line{from};
        for (;;) {
            used[edge] = 1;
            line.push_back(edges[edge].a == line.back() ? edges[edge].b : edges[edge].a);
            const auto [first, last] = at(line.back());
            if (last - first != 2) break;
            const EdgeIndex next = first->edge == edge ? (first + 1)->edge : first->edge;
            if (used[next]) break;
            edge = next;
        }
        lines.push_back(std::move(line));
    };
    for (const End& end : ends) {
        const auto [first, last] = at(end.place);
        if (last - first != 2 && !used[end.edge]) follow(end.edge, end.place);
    }
    for (const End& end : ends)
        if (!used[end.edge]) follow(end.edge, end.place);  // rings
    return lines;
}

// The edges as lines, cut where they meet. Cutting costs most of the search and a clean map does without.
GeosGeometry noded_lines(const GeosContext& context, const std::vector<Edge>& edges) {
    GeosGeometry all = geos_lines(context, strung_together(edges));
    if (all && !any_cross(edges)) return all;
    return owned(context, all ? GEOSUnaryUnion_r(context.get(), all.get()) : nullptr);
}

struct Fault {
    double area_m2 = 0;
    double width_m = 0;
    Point inside;
    std::vector<PolygonIndex> polygons;  // none for a gap
};

std::string figure(double value) {
    char text[40];
    std::snprintf(text, sizeof text, value >= 100 ? "%.0f" : value >= 1 ? "%.1f" : "%.2g", value);
    return text;
}

Problem problem_of(const Fault& fault, const PolygonStore& polygons, const UnitMapOptions& options) {
    Problem problem;
    problem.severity = Severity::warning;
    problem.source = options.source;
    problem.field = "geometry";
    problem.position = fault.inside;
    const std::string size = figure(fault.area_m2) + " m2, " + figure(fault.width_m) + " m wide on average";
    const bool sliver = fault.width_m < options.sliver_width_m;
    if (fault.polygons.empty()) {
        problem.message =
            (sliver ? "a sliver between polygons belongs to none (" : "a gap inside the map belongs to no polygon (") +
            size + ")";
        problem.remedy = sliver ? "Snap the polygons' edges together."
                                : "Draw a polygon there, or leave the gap if it is meant to be empty.";
        return problem;
    }
    problem.row = polygons.row(fault.polygons.front());
    std::string rows;
    for (std::size_t i = 0; i < fault.polygons.size() && i < 5; ++i) {
        if (i > 0) rows += i + 1 == fault.polygons.size() ? " and " : ", ";
        rows += std::to_string(polygons.row(fault.polygons[i]));
    }
    if (fault.polygons.size() > 5) rows += " and " + std::to_string(fault.polygons.size() - 5) + " more";
    problem.message = std::string(sliver ? "a sliver is covered" : "an area is covered") + " by the polygons of rows " +
                      rows + " (" + size + "); the first of them is taken there";
    problem.remedy = sliver ? "Snap the polygons' edges together." : "Cut one polygon by the other.";
    return problem;
}

// Polygons over a face share its sample place, or have an edge near it.
void mark_polygons_over(const GeosContext& context, const GEOSGeometry* face, const Coverage& coverage,
                        const std::vector<PolygonIndex>& over_sample, std::vector<std::uint8_t>& marks) {
    for (const PolygonIndex polygon : over_sample) marks[polygon] = 1;
    Box box;
    GEOSGeom_getXMin_r(context.get(), face, &box.min_x);
    GEOSGeom_getYMin_r(context.get(), face, &box.min_y);
    GEOSGeom_getXMax_r(context.get(), face, &box.max_x);
    GEOSGeom_getYMax_r(context.get(), face, &box.max_y);
    const EdgeGrid& grid = coverage.grid();
    for (int row = grid.row(box.min_y); row <= grid.row(box.max_y); ++row) {
        for (int column = grid.column(box.min_x); column <= grid.column(box.max_x); ++column) {
            for (const EdgeIndex i : grid.cell(grid.number(column, row))) {
                for (const PolygonIndex polygon : {coverage.edges()[i].left, coverage.edges()[i].right}) {
                    if (polygon != none) marks[polygon] = 1;
                }
            }
        }
    }
}

}  // namespace

std::vector<std::uint8_t> report_gaps_and_overlaps(const PolygonStore& polygons, const EdgeTable& table,
                                                   const Coverage& coverage, const UnitMapOptions& options,
                                                   ProblemLog& problems) {
    constexpr std::size_t max_problems = 1000;
    const std::vector<Edge> edges = edges_where_cover_may_change(table);
    std::vector<std::uint8_t> overlapping(polygons.size(), 0);
    if (edges.empty()) return overlapping;
    // Cutting this many lines at their crossings takes minutes, and a thousand problems would say no more than this
    // one.
    constexpr std::size_t max_edges = 1'000'000;
    if (edges.size() > max_edges) {
        problems.add({.severity = Severity::warning,
                      .source = options.source,
                      .row = {},
                      .field = "geometry",
                      .value = {},
                      .message = std::to_string(edges.size()) +
                                 " edges of the map have a polygon on one side only: the "
                                 "polygons do not share their edges, and gaps and overlaps were not searched for",
                      .remedy = "Snap the polygons' edges together.",
                      .position = {}});
        return std::vector<std::uint8_t>(polygons.size(), 1);
    }
    const GeosContext context;
    const auto cannot = [&] {
        problems.add({.severity = Severity::warning,
                      .source = options.source,
                      .row = {},
                      .field = "geometry",
                      .value = {},
                      .message = "the map could not be searched for gaps and overlaps: " + context.error(),
                      .remedy = "Check the validity of the map's polygons.",
                      .position = {}});
        return std::vector<std::uint8_t>(polygons.size(), 1);
    };
    const GeosGeometry lines = noded_lines(context, edges);
    if (!lines) return cannot();
    const GEOSGeometry* const list[] = {lines.get()};
    const GeosGeometry faces = owned(context, GEOSPolygonize_r(context.get(), list, 1));
    if (!faces) return cannot();

    std::vector<Fault> faults;
    CoverSet cover;
    const int count = GEOSGetNumGeometries_r(context.get(), faces.get());
    for (int i = 0; i < count; ++i) {
        const GEOSGeometry* face = GEOSGetGeometryN_r(context.get(), faces.get(), i);
        Fault fault;
        double boundary = 0;
        GEOSArea_r(context.get(), face, &fault.area_m2);
        GEOSLength_r(context.get(), face, &boundary);
        fault.width_m = 2 * fault.area_m2 / boundary;
        // Thinner than the tolerance is rounding, in the data or in the noding.
        if (!(fault.width_m > options.edge_tolerance_m)) {
            mark_polygons_over(context, face, coverage, {}, overlapping);
            continue;
        }
        const GeosGeometry inside = owned(context, GEOSPointOnSurface_r(context.get(), face));
        if (!inside) return cannot();
        GEOSGeomGetX_r(context.get(), inside.get(), &fault.inside.x);
        GEOSGeomGetY_r(context.get(), inside.get(), &fault.inside.y);
        coverage.cover(fault.inside, cover);
        if (cover.size() == 1) continue;
        fault.polygons = cover.sorted();
        if (!fault.polygons.empty()) mark_polygons_over(context, face, coverage, fault.polygons, overlapping);
        faults.push_back(std::move(fault));
    }
    std::sort(faults.begin(), faults.end(), [](const Fault& p, const Fault& q) {
        return p.area_m2 != q.area_m2 ? p.area_m2 > q.area_m2 : before(p.inside, q.inside);
    });
    const std::size_t told = std::min(faults.size(), max_problems);
    for (std::size_t i = 0; i < told; ++i) problems.add(problem_of(faults[i], polygons, options));
    if (told == faults.size()) return overlapping;
    double rest = 0;
    for (std::size_t i = told; i < faults.size(); ++i) rest += faults[i].area_m2;
    problems.add({.severity = Severity::warning,
                  .source = options.source,
                  .row = {},
                  .field = "geometry",
                  .value = {},
                  .message = std::to_string(faults.size() - told) + " smaller gaps and overlaps, " + figure(rest) +
                             " m2 in all, are not listed one by one",
                  .remedy = "Snap the polygons' edges together.",
                  .position = {}});
    return overlapping;
}

}  // namespace subcrop::geo
