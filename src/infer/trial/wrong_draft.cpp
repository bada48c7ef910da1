#include "infer/trial/wrong_draft.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "infer/contacts/cut_edges.hpp"
#include "infer/statistics/random_draw.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {

Warp::Warp(double rms_m, double reach_m, std::uint64_t seed) {
    RandomDraw draw(seed * 0x2545f4914f6cdd1dULL + 7);
    for (auto& component : waves_) {
        for (Wave& wave : component) {
            wave.kx = draw.normal() / reach_m;
            wave.ky = draw.normal() / reach_m;
            wave.phase = 2 * std::numbers::pi * draw.share();
        }
    }
    // Each component has half of the vector's variance; each wave has a variance of one half.
    scale_ = rms_m / std::numbers::sqrt2 * std::sqrt(2.0 / static_cast<double>(waves_[0].size()));
}

Point Warp::displaced(Point place) const {
    double sum[2] = {};
    for (std::size_t k = 0; k < 2; ++k)
        for (const Wave& w : waves_[k]) sum[k] += std::cos(w.kx * place.x + w.ky * place.y + w.phase);
    return {place.x + scale_ * sum[0], place.y + scale_ * sum[1]};
}

std::vector<model::MapPolygon> warped(std::vector<model::MapPolygon> polygons, const Warp& warp, double step_m) {
    std::vector<model::MapPolygon> result;
    for (model::MapPolygon& p : polygons) {
        auto move = [&](Ring& ring) {
            ring = cut_edges(ring, step_m);
            for (Point& place : ring) place = warp.displaced(place);
            ring.back() = ring.front();
        };
        move(p.polygon.shell);
        for (Ring& hole : p.polygon.holes) move(hole);
        if (geo::is_valid(p.polygon)) {
            result.push_back(std::move(p));
            continue;
        }
        for (Polygon& part : geo::made_valid(p.polygon)) result.push_back({p.unit, p.row, std::move(part)});
    }
    return result;
}

std::vector<model::MapPolygon> relabelled(const std::vector<model::MapPolygon>& polygons, model::UnitIndex from,
                                          model::UnitIndex to, const Polygon& disc) {
    std::vector<model::MapPolygon> result;
    for (const model::MapPolygon& p : polygons) {
        const MultiPolygon inside = p.unit == from ? geo::common_ground({p.polygon}, {disc}) : MultiPolygon{};
        if (inside.empty()) {
            result.push_back(p);
            continue;
        }
        for (const Polygon& part : geo::ground_without({p.polygon}, {disc})) result.push_back({p.unit, p.row, part});
        for (const Polygon& part : inside) result.push_back({to, p.row, part});
    }
    return result;
}

}  // namespace subcrop::infer
