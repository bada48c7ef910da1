// How near a map comes to the true one, and how well wrong stops are ranked: figures shared by the benches of moved
// contacts.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdio>
#include <optional>
#include <utility>
#include <vector>

#include "subcrop/core/planar.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"

namespace subcrop::bench {

/// Expected calibration error over ten bins of equal width, and the bins themselves.
struct Calibration {
    struct Bin {
        double count = 0, claimed = 0, right = 0;
    };
    std::vector<Bin> bins = std::vector<Bin>(10);
    void add(double claimed, bool right) {
        Bin& bin = bins[std::min<std::size_t>(9, static_cast<std::size_t>(claimed * 10))];
        bin.count += 1;
        bin.claimed += claimed;
        bin.right += right;
    }
    double error() const {
        double total = 0, sum = 0;
        for (const Bin& bin : bins) {
            total += bin.count;
            sum += std::abs(bin.claimed - bin.right);
        }
        return total > 0 ? sum / total : 0;
    }
};

/// The revised map as it is drawn.
inline geo::UnitMap drawn_map(const model::Survey& survey, const geo::UnitMap& draft,
                              const infer::RevisedMap& revised) {
    std::vector<model::MapPolygon> polygons = infer::polygons_of(revised, draft);
    ProblemLog faults, of_draft;
    geo::UnitMap drawn(std::move(polygons), survey.units.size(), {}, faults);
    const geo::UnitMap again(draft.polygons(), survey.units.size(), {}, of_draft);
    if (faults.size() > of_draft.size())
        std::fprintf(stderr, "the revised map has %zu gaps and overlaps, the draft %zu\n", faults.size(),
                     of_draft.size());
    return drawn;
}

/// Shares of the true map's area on cells of `cell_m`.
struct AreaFigures {
    double wrong_before = 0, wrong_after = 0, changed = 0, spoilt = 0, corrected = 0;
};

/// `revised(x)`: the unit at x in the map that is compared; `counts(x)`: whether the place is looked at.
template <class Revised, class Counts>
AreaFigures compare_ground(const geo::UnitMap& truth, const geo::UnitMap& draft, double cell_m, const Revised& revised,
                           const Counts& counts) {
    AreaFigures f;
    const Box extent = truth.extent();
    double cells = 0;
    for (double x = extent.min_x + cell_m / 2; x < extent.max_x; x += cell_m) {
        for (double y = extent.min_y + cell_m / 2; y < extent.max_y; y += cell_m) {
            const auto right = truth.unit_at({x, y});
            if (right == model::no_unit || !counts(Point{x, y})) continue;
            const auto before = draft.unit_at({x, y});
            const auto after = revised(Point{x, y});
            cells += 1;
            f.wrong_before += before != right && before != model::no_unit;
            f.wrong_after += after != right && after != model::no_unit;
            f.changed += before != after;
            f.spoilt += before == right && after != right && after != model::no_unit;
            f.corrected += before != right && before != model::no_unit && after == right;
        }
    }
    for (double* share : {&f.wrong_before, &f.wrong_after, &f.changed, &f.spoilt, &f.corrected}) *share /= cells;
    return f;
}
template <class Revised>
AreaFigures compare_ground(const geo::UnitMap& truth, const geo::UnitMap& draft, double cell_m,
                           const Revised& revised) {
    return compare_ground(truth, draft, cell_m, revised, [](Point) { return true; });
}

/// Distance from a place to the nearest of the lines between the same two units; absent beyond `reach_m`.
class SameContacts {
public:
    explicit SameContacts(const geo::UnitMap& map) : map_(&map) {}
    std::optional<double> distance_to(model::UnitIndex a, model::UnitIndex b, Point p, double reach_m) const {
        double best = reach_m;
        bool found = false;
        for (const geo::Contact& contact : map_->contacts()) {
            if (contact.unit_a != a || contact.unit_b != b) continue;
            for (std::size_t i = 1; i < contact.line.size(); ++i) {
                const double d = to_edge(contact.line[i - 1], contact.line[i], p);
                if (d < best) {
                    best = d;
                    found = true;
                }
            }
        }
        if (!found) return std::nullopt;
        return best;
    }
    static double to_edge(Point a, Point b, Point p) {
        const double dx = b.x - a.x, dy = b.y - a.y, squared = dx * dx + dy * dy;
        const double t = squared > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / squared, 0.0, 1.0) : 0;
        return std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
    }

private:
    const geo::UnitMap* map_;
};

/// Whether a place lies in the 90 % zone of a contact of the same two units as `wanted`, as the run writes them.
inline bool in_a_zone(const infer::Relocation& relocation, const infer::RevisedMap& revised, const geo::UnitMap& draft,
                      const geo::Contact& wanted, Point place) {
    for (const infer::RedrawnContact& redrawn : revised.contacts) {
        if (redrawn.unit_a == wanted.unit_a && redrawn.unit_b == wanted.unit_b &&
            nearest_on(redrawn.line, place).off_m <= redrawn.half_width_m)
            return true;
    }
    for (std::size_t c = 0; c < draft.contacts().size(); ++c) {
        const geo::Contact& drafted = draft.contacts()[c];
        if (drafted.unit_a != wanted.unit_a || drafted.unit_b != wanted.unit_b) continue;
        const Line& line = infer::relocated_line(relocation, draft, c);
        const auto& widths = relocation.contacts[c].half_widths_m;
        for (std::size_t k = 1; k < line.size(); ++k) {
            const double width = widths.size() == 1 ? widths[0] : (widths[k - 1] + widths[k]) / 2;
            if (SameContacts::to_edge(line[k - 1], line[k], place) <= width) return true;
        }
    }
    return false;
}

}  // namespace subcrop::bench
