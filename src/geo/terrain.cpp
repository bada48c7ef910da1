#include "subcrop/geo/terrain.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>
#include <utility>

namespace subcrop::geo {

namespace {

constexpr double degree = std::numbers::pi / 180;
/// A smaller slope counts as level, without a direction up or down.
constexpr double level_tangent = 1e-9;
/// Below one in fifty a path stops, because soil no longer creeps and rounded heights mislead it.
constexpr double min_tangent = 0.02;

}  // namespace

HeightGrid::HeightGrid(double west, double north, double cell_m, std::int64_t columns, std::int64_t rows)
    : west_(west), north_(north), cell_m_(cell_m), columns_(columns), rows_(rows) {
    assert(cell_m > 0 && columns >= 0 && rows >= 0);
    cells_.assign(static_cast<std::size_t>(columns * rows), empty_cell);
}

Terrain::Terrain(HeightGrid heights, double step_m) : heights_(std::move(heights)), step_m_(step_m) {}

double Terrain::hillslope_m() const {
    // Rounding to a step errs by step / sqrt(12) (rms); Horn's weights 1, 2, 1 on either side make of that a slope's
    // error of sqrt(12) / 8 of it over the spacing.
    constexpr double usual_m = 20, slope_error = 0.01;
    return std::max({usual_m, heights_.cell_m(), step_m_ / 8 / slope_error});
}

std::optional<double> Terrain::height(Point place) const {
    const double x = (place.x - heights_.west()) / heights_.cell_m(),
                 y = (heights_.north() - place.y) / heights_.cell_m();
    if (!(x >= 0 && y >= 0 && x <= static_cast<double>(heights_.columns()) &&
          y <= static_cast<double>(heights_.rows()))) {
        return std::nullopt;
    }
    const auto own_column = std::min(static_cast<std::int64_t>(x), heights_.columns() - 1);
    const auto own_row = std::min(static_cast<std::int64_t>(y), heights_.rows() - 1);
    if (!heights_.known(own_column, own_row)) return std::nullopt;
    const double left = std::floor(x - 0.5), top = std::floor(y - 0.5);
    const double right_share = x - 0.5 - left, lower_share = y - 0.5 - top;
    double sum = 0, weights = 0;
    for (int j = 0; j < 2; ++j) {
        for (int i = 0; i < 2; ++i) {
            const double weight = (i == 1 ? right_share : 1 - right_share) * (j == 1 ? lower_share : 1 - lower_share);
            if (weight <= 0) continue;
            const auto h = heights_.at(static_cast<std::int64_t>(left) + i, static_cast<std::int64_t>(top) + j);
            if (!h) continue;
            sum += weight * *h;
            weights += weight;
        }
    }
    return sum / weights;
}

std::optional<Surface> Terrain::surface(Point place, double spacing_m) const {
    const auto middle = height(place);
    if (!middle) return std::nullopt;
    const double h = std::max(spacing_m, heights_.cell_m());
    // Rows from north to south, columns from west to east.
    std::array<std::optional<double>, 9> seen;
    for (int k = 0; k < 9; ++k) {
        seen[static_cast<std::size_t>(k)] =
            k == 4 ? middle : height({place.x + (k % 3 - 1) * h, place.y + (1 - k / 3) * h});
    }
    std::array<double, 9> z{};
    for (const std::size_t k : {1u, 3u, 4u, 5u, 7u}) {
        z[k] = seen[k] ? *seen[k] : seen[8 - k] ? 2 * *middle - *seen[8 - k] : *middle;
    }
    for (const std::size_t k : {0u, 2u, 6u, 8u}) {
        const double beside = z[k < 3 ? 1 : 7] + z[k % 3 == 0 ? 3 : 5] - *middle;
        z[k] = seen[k] ? *seen[k] : seen[8 - k] ? 2 * *middle - *seen[8 - k] : beside;
    }

    const double east = (z[2] + 2 * z[5] + z[8] - z[0] - 2 * z[3] - z[6]) / (8 * h);
    const double north = (z[0] + 2 * z[1] + z[2] - z[6] - 2 * z[7] - z[8]) / (8 * h);
    const double tangent = std::hypot(east, north);
    Surface surface;
    surface.slope_deg = std::atan(tangent) / degree;
    if (tangent < level_tangent) return surface;
    surface.uphill = {east / tangent, north / tangent};
    const double down = std::atan2(-east, -north) / degree;
    surface.aspect_deg = down < 0 ? down + 360 : down;

    const double d = ((z[3] + z[5]) / 2 - *middle) / (h * h), e = ((z[1] + z[7]) / 2 - *middle) / (h * h);
    const double f = (-z[0] + z[2] + z[6] - z[8]) / (4 * h * h);
    const double g = (z[5] - z[3]) / (2 * h), p = (z[1] - z[7]) / (2 * h);
    const double square = g * g + p * p;
    if (square < level_tangent * level_tangent) return surface;
    surface.profile_curvature = -2 * (d * g * g + e * p * p + f * g * p) / square;
    surface.plan_curvature = -2 * (d * p * p + e * g * g - f * g * p) / square;
    return surface;
}

std::vector<Point> Terrain::upslope_path(Point from, double length_m, double step_m, double spacing_m) const {
    assert(step_m > 0);
    std::vector<Point> path{from};
    Point before{};
    for (double walked = step_m; walked <= length_m * (1 + 1e-12); walked += step_m) {
        const Point here = path.back();
        const auto ground = surface(here, spacing_m);
        if (!ground || std::tan(ground->slope_deg * degree) < min_tangent) break;
        // Over a crest the gradient turns round.
        if (ground->uphill.x * before.x + ground->uphill.y * before.y < 0) break;
        before = ground->uphill;
        const Point next{here.x + step_m * before.x, here.y + step_m * before.y};
        if (!height(next)) break;
        path.push_back(next);
    }
    return path;
}

}  // namespace subcrop::geo
