#include "subcrop/geo/contact_traces.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace subcrop::geo {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// If the land surface is parallel to the beds within this, a trace may be anywhere.
constexpr double min_gradient = 0.03;
constexpr std::size_t max_places = 80;

/// Height of the land surface above a bed, and its gradient.
struct Level {
    double s = 0;
    Point gradient;
};

std::optional<Level> level_at(const Terrain& terrain, const BedSurface& beds, Point place) {
    const auto height = terrain.height(place);
    const auto surface = terrain.surface(place, terrain.hillslope_m());
    if (!height || !surface) return std::nullopt;
    const double tangent = std::tan(surface->slope_deg * std::numbers::pi / 180);
    const Point bed = beds.gradient(place);
    return Level{*height - beds.height_m(place),
                 {tangent * surface->uphill.x - bed.x, tangent * surface->uphill.y - bed.y}};
}

/// From a drafted place along the gradient to the level; nothing where it is not met within reach.
std::optional<Point> walk_to_level(const Terrain& terrain, const BedSurface& beds, Point from, double level,
                                   double reach_m) {
    constexpr double longest_step_m = 20;
    Point at = from;
    for (int step = 0; step < 40; ++step) {
        const auto here = level_at(terrain, beds, at);
        if (!here) return std::nullopt;
        const double steep = std::hypot(here->gradient.x, here->gradient.y);
        if (steep < min_gradient) return std::nullopt;
        const double away = std::clamp((level - here->s) / steep, -longest_step_m, longest_step_m);
        at.x += away * here->gradient.x / steep;
        at.y += away * here->gradient.y / steep;
        if (distance(at, from) > reach_m) return std::nullopt;
        if (std::abs(away) < 0.5) return at;
    }
    return std::nullopt;
}

std::vector<Point> places_along(const Line& line, double spacing_m) {
    double length = 0;
    for (std::size_t i = 1; i < line.size(); ++i) length += distance(line[i - 1], line[i]);
    const double spacing = std::max(spacing_m, length / static_cast<double>(max_places));
    std::vector<Point> places;
    double next = std::min(spacing, length) / 2, begun = 0;
    for (std::size_t i = 1; i < line.size(); ++i) {
        const double step = distance(line[i - 1], line[i]);
        for (; step > 0 && next <= begun + step; next += spacing) {
            const double t = (next - begun) / step;
            places.push_back({std::lerp(line[i - 1].x, line[i].x, t), std::lerp(line[i - 1].y, line[i].y, t)});
        }
        begun += step;
    }
    return places;
}

std::optional<ContactTrace> trace(const Contact& contact, const Terrain& terrain, const BedSurface& beds,
                                  const ContactTraceOptions& options) {
    const std::vector<Point> drafted = places_along(contact.line, options.spacing_m);
    // The mean level of the draft. Steep slopes count more, because a metre on the map is more in height there.
    double sum = 0, weights = 0;
    std::vector<std::optional<Level>> levels;
    for (const Point& place : drafted) {
        levels.push_back(level_at(terrain, beds, place));
        if (!levels.back()) continue;
        const Point g = levels.back()->gradient;
        const double weight = 1 / std::max(g.x * g.x + g.y * g.y, min_gradient * min_gradient);
        sum += weight * levels.back()->s;
        weights += weight;
    }
    if (weights <= 0) return std::nullopt;
    ContactTrace result;
    std::vector<double> metres_a_level;
    for (const Point& place : drafted) {
        const auto on_trace = walk_to_level(terrain, beds, place, sum / weights, 5 * options.contact_sd_m);
        if (!on_trace) continue;
        const Point g = level_at(terrain, beds, *on_trace)->gradient;
        const double steep = std::hypot(g.x, g.y);
        const Point normal{g.x / steep, g.y / steep};
        result.places.push_back(*on_trace);
        result.normals.push_back(normal);
        result.offsets_m.push_back((place.x - on_trace->x) * normal.x + (place.y - on_trace->y) * normal.y);
        metres_a_level.push_back(1 / steep);
    }
    const auto count = static_cast<Index>(result.places.size());
    if (count < 3) return std::nullopt;
    const std::vector<double> heights = beds.covariance(result.places);
    MatrixXd covariance(count, count);
    VectorXd h(count), offsets(count);
    for (Index i = 0; i < count; ++i) {
        h[i] = metres_a_level[static_cast<std::size_t>(i)];
        offsets[i] = result.offsets_m[static_cast<std::size_t>(i)];
    }
    for (Index i = 0; i < count; ++i) {
        for (Index j = 0; j < count; ++j)
            covariance(i, j) = h[i] * h[j] * heights[static_cast<std::size_t>(i * count + j)];
        covariance(i, i) +=
            std::pow(options.roughness * options.contact_sd_m, 2) + std::pow(h[i] * options.terrain_sd_m, 2);
    }
    const auto with_free_level = [&](const MatrixXd& of) -> MatrixXd {
        const MatrixXd inverse = of.llt().solve(MatrixXd::Identity(count, count));
        const VectorXd ih = inverse * h;
        return inverse - ih * ih.transpose() / h.dot(ih);
    };
    const MatrixXd precision = with_free_level(covariance);
    result.precision.assign(precision.data(), precision.data() + precision.size());  // symmetric: by rows or columns
    // Neighbouring places share the draft's error, in an unknown way. As a cautious choice it is taken as independent.
    const MatrixXd both =
        with_free_level(covariance + MatrixXd::Identity(count, count) * options.contact_sd_m * options.contact_sd_m);
    result.misfit = std::sqrt(std::max(0.0, offsets.dot(both * offsets)) / static_cast<double>(count - 1));
    return result;
}

}  // namespace

ContactTraces trace_contacts(const UnitMap& map, const Terrain& terrain, const BedSurface& beds,
                             const ContactTraceOptions& options) {
    ContactTraces result;
    const auto bedrock = [&](model::UnitIndex unit) {
        return unit != model::no_unit && (options.cover.empty() || !options.cover[static_cast<std::size_t>(unit)]);
    };
    for (std::uint32_t c = 0; c < map.contacts().size(); ++c) {
        const Contact& contact = map.contacts()[c];
        if (!bedrock(contact.unit_a) || !bedrock(contact.unit_b)) continue;
        auto traced = trace(contact, terrain, beds, options);
        if (!traced) continue;
        if (traced->misfit > options.largest_misfit) {
            ++result.at_odds;
            continue;
        }
        traced->contact = c;
        result.traces.push_back(std::move(*traced));
    }
    return result;
}

}  // namespace subcrop::geo
