#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "geo/unit_map_state.hpp"

// The Gaussian is cut into strips of equal mass that run along the normal of the nearest boundary. Along the middle of
// each strip the polygons passed are known from the edges crossed, and the normal distribution function gives each
// stretch its mass. So a straight contact comes out exactly at any distance, and only boundaries that run along the strips
// are quadrature: one alone is out by at most half a strip, where the nearest one bends away from straight by less.

namespace subcrop::geo {
namespace {

constexpr double reach_in_sd = 3.5;  // beyond lie 0.05 % of a normal error in one direction
constexpr std::size_t strips = 12;

// Middle of each strip in standard deviations: normal quantiles of (2 i + 1) / 24, from scipy.stats.norm.ppf (SciPy 1.10).
constexpr std::array<double, strips> strip_offsets = {
    -1.731664396122245,   -1.1503493803760079, -0.8122178014999129, -0.5485222826980979,
    -0.31863936396437514, -0.1046334556140754, 0.1046334556140754,  0.31863936396437514,
    0.5485222826980979,   0.8122178014999129,  1.1503493803760079,  1.731664396122245};

double normal_cdf(double z) { return 0.5 * std::erfc(-z * 0.70710678118654752440); }

struct Crossing {
    double along = 0;
    EdgeIndex edge = none;
    friend bool operator==(const Crossing&, const Crossing&) = default;
    friend bool operator<(const Crossing& p, const Crossing& q) {
        return p.along != q.along ? p.along < q.along : p.edge < q.edge;
    }
};

// Keeps its memory from place to place; every call begins empty.
thread_local std::vector<Crossing> crossings;

// Crossings of the line origin + t direction, |t| <= half_length, with the edges of one cell.
void collect(const EdgeGrid& grid, const std::vector<Edge>& edges, std::size_t cell, Point origin, Point direction,
             double half_length) {
    for (const EdgeIndex i : grid.cell(cell)) {
        const Edge& edge = edges[i];
        const double ax = edge.a.x - origin.x, ay = edge.a.y - origin.y;
        const double bx = edge.b.x - origin.x, by = edge.b.y - origin.y;
        const double a_side = direction.x * ay - direction.y * ax;
        const double b_side = direction.x * by - direction.y * bx;
        if ((a_side <= 0) == (b_side <= 0)) continue;
        const double a_along = direction.x * ax + direction.y * ay;
        const double b_along = direction.x * bx + direction.y * by;
        const double along = a_along + (b_along - a_along) * (a_side / (a_side - b_side));
        if (std::abs(along) <= half_length) crossings.push_back({along, i});
    }
}

// All cells the line runs through, column by column (or row by row where it is steep), a cell more where it is close to a
// corner. An edge met in several cells is kept once.
void collect_along(const EdgeGrid& grid, const std::vector<Edge>& edges, Point origin, Point direction, double half_length) {
    crossings.clear();
    const Point start{origin.x - half_length * direction.x, origin.y - half_length * direction.y};
    const Point end{origin.x + half_length * direction.x, origin.y + half_length * direction.y};
    const bool steep = std::abs(direction.y) > std::abs(direction.x);
    const double slope = steep ? direction.x / direction.y : direction.y / direction.x;
    const double low = steep ? std::min(start.y, end.y) : std::min(start.x, end.x);
    const double high = steep ? std::max(start.y, end.y) : std::max(start.x, end.x);
    const int first = steep ? grid.row(low) : grid.column(low);
    const int last = steep ? grid.row(high) : grid.column(high);
    const double margin = grid.reach() / 2;
    for (int k = first; k <= last; ++k) {
        const double from = std::max(steep ? grid.y_of(k) : grid.x_of(k), low);
        const double to = std::min(steep ? grid.y_of(k + 1) : grid.x_of(k + 1), high);
        if (from > to) continue;
        double u = steep ? origin.x + (from - origin.y) * slope : origin.y + (from - origin.x) * slope;
        double v = steep ? origin.x + (to - origin.y) * slope : origin.y + (to - origin.x) * slope;
        if (u > v) std::swap(u, v);
        const int begin = steep ? grid.column(u - margin) : grid.row(u - margin);
        const int finish = steep ? grid.column(v + margin) : grid.row(v + margin);
        for (int m = begin; m <= finish; ++m) {
            collect(grid, edges, steep ? grid.number(m, k) : grid.number(k, m), origin, direction, half_length);
        }
    }
    std::sort(crossings.begin(), crossings.end());
    crossings.erase(std::unique(crossings.begin(), crossings.end()), crossings.end());
}

}  // namespace

void UnitMap::membership(Point place, double sd_m, std::span<double> shares) const {
    const State& s = *state_;
    assert(shares.size() == s.unit_count);
    std::fill(shares.begin(), shares.end(), 0.0);
    const auto give = [&](model::UnitIndex unit, double mass) {
        if (unit != model::no_unit) shares[static_cast<std::size_t>(unit)] += mass;
    };
    const double reach = reach_in_sd * sd_m;
    const std::vector<Edge>& edges = s.table.edges();
    const EdgeGrid& grid = s.coverage.grid();
    const auto nearest = s.divide_search.find(
        grid, edges, place, reach, [&](EdgeIndex i) { return s.divides[i] != 0; }, [](EdgeIndex i) { return i; });
    CoverSet cover;
    if (!nearest || !(sd_m > 0)) {
        give(unit_at(place), 1);
        return;
    }
    Point normal{nearest->foot.place.x - place.x, nearest->foot.place.y - place.y};
    double length = std::hypot(normal.x, normal.y);
    if (length < 1e-3 * sd_m) {
        // On the boundary itself: its own normal.
        const Edge& edge = edges[nearest->edge];
        normal = {edge.a.y - edge.b.y, edge.b.x - edge.a.x};
        length = std::hypot(normal.x, normal.y);
    }
    normal = {normal.x / length, normal.y / length};
    for (const double offset : strip_offsets) {
        const Point origin{place.x - offset * sd_m * normal.y, place.y + offset * sd_m * normal.x};
        collect_along(grid, edges, origin, normal, reach);
        s.coverage.cover({origin.x - reach * normal.x, origin.y - reach * normal.y}, cover);
        model::UnitIndex unit = s.unit_of(cover);
        double below = 0;
        for (const Crossing& crossing : crossings) {
            cover.cross(edges[crossing.edge]);
            const model::UnitIndex next = s.unit_of(cover);
            if (next == unit) continue;
            const double mass = normal_cdf(crossing.along / sd_m);
            give(unit, (mass - below) / strips);
            below = mass;
            unit = next;
        }
        give(unit, (1 - below) / strips);
    }
}

}  // namespace subcrop::geo
