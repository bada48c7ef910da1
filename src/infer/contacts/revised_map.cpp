#include "subcrop/infer/revised_map.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "infer/contacts/redrawn_contacts.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/redraw.hpp"
#include "subcrop/geo/unit_grid.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/infer/answer_settings.hpp"

namespace subcrop::infer {

namespace {

/// From this probability on, the map shows a stop's unit at the stop.
constexpr double sure = 0.9;
/// Maximum number of cells, so that a large area with few stops does not cost too much.
constexpr double min_cells = 100'000, cells_a_stop = 100;
/// Places at which probabilities are averaged, over the whole map.
constexpr double samples = 20'000;

bool same(const Polygon& a, const Polygon& b) { return a.shell == b.shell && a.holes == b.holes; }

/// Cells whose unit differs from the draft's, after contacts moved.
class Drawing {
public:
    Drawing(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const geo::LeastDrawn& least,
            unsigned threads)
        : survey_(survey), map_(map), fit_(fit), least_(least) {
        frame();
        ask_answer(threads);
        take_rests();
        draw_sure_stops();
        grow_into_own_unit();
    }

    std::vector<model::MapPolygon> areas() const { return geo::grid_polygons(changed_); }

private:
    void frame() {
        const double error_m = fit_.answer.contact_sd_m(), apart_m = fit_.answer.stop_distance_m();
        Box stops;
        for (const model::Stop& stop : survey_.stops) stops.add(stop.position);
        const double margin = 3 * apart_m;
        Box box;
        box.add(Point{std::max(stops.min_x - margin, map_.extent().min_x),
                      std::max(stops.min_y - margin, map_.extent().min_y)});
        box.add(Point{std::min(stops.max_x + margin, map_.extent().max_x),
                      std::min(stops.max_y + margin, map_.extent().max_y)});
        const double cells = std::max(min_cells, cells_a_stop * static_cast<double>(survey_.stops.size()));
        changed_.cell_m =
            std::max(std::clamp(apart_m / 8, error_m / 4, error_m), std::sqrt(box.width() * box.height() / cells));
        changed_.origin = {box.min_x, box.min_y};
        changed_.columns = 1 + static_cast<std::size_t>(std::max(0.0, box.width()) / changed_.cell_m);
        changed_.rows = 1 + static_cast<std::size_t>(std::max(0.0, box.height()) / changed_.cell_m);
        changed_.units.assign(changed_.columns * changed_.rows, model::no_unit);
        moved_ = favoured_ = changed_.units;
    }

    void ask_answer(unsigned threads) {
        parallel_blocks(changed_.units.size(), 1024, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t cell = begin; cell < end; ++cell) {
                const Point place = changed_.centre(cell);
                moved_[cell] = map_.unit_at(fit_.answer.place_on_draft(place));
                if (moved_[cell] == model::no_unit) continue;
                const Answer::Revision revision = fit_.answer.revision(place, moved_[cell]);
                if (revision.unit == moved_[cell]) continue;
                favoured_[cell] = revision.unit;
                if (revision.odds > change_odds_) changed_.units[cell] = revision.unit;
            }
        });
    }

    /// The rest of a polygon joins the area if it is smaller than the area and mostly favours the area's unit.
    void take_rests() {
        std::vector<std::uint32_t> piece(changed_.units.size(), 0);  // 0: not yet looked at
        std::vector<std::vector<std::size_t>> pieces{{}};
        for (std::size_t first = 0; first < piece.size(); ++first) {
            if (piece[first] != 0 || drawn(first) == model::no_unit) continue;
            const auto number = static_cast<std::uint32_t>(pieces.size());
            pieces.push_back({first});
            piece[first] = number;
            std::vector<std::size_t>& cells = pieces.back();
            for (std::size_t i = 0; i < cells.size(); ++i) {
                for_neighbours(cells[i], [&](std::size_t next) {
                    if (piece[next] != 0 || moved_[next] != moved_[first] ||
                        changed_.units[next] != changed_.units[first])
                        return;
                    piece[next] = number;
                    cells.push_back(next);
                });
            }
        }
        for (const std::vector<std::size_t>& cells : pieces) {
            if (cells.empty() || changed_.units[cells.front()] != model::no_unit) continue;
            model::UnitIndex beside = model::no_unit;
            for (const std::size_t cell : cells) {
                for_neighbours(cell, [&](std::size_t next) {
                    if (changed_.units[next] != model::no_unit && moved_[next] == moved_[cell] &&
                        pieces[piece[next]].size() > cells.size())
                        beside = changed_.units[next];
                });
            }
            if (beside == model::no_unit) continue;
            const auto agree =
                std::count_if(cells.begin(), cells.end(), [&](std::size_t cell) { return favoured_[cell] == beside; });
            if (2 * static_cast<std::size_t>(agree) <= cells.size()) continue;
            for (const std::size_t cell : cells) changed_.units[cell] = beside;
        }
    }

    template <class Visit>
    void for_neighbours(std::size_t cell, Visit&& visit) const {
        const std::size_t column = cell % changed_.columns;
        if (column > 0) visit(cell - 1);
        if (column + 1 < changed_.columns) visit(cell + 1);
        if (cell >= changed_.columns) visit(cell - changed_.columns);
        if (cell + changed_.columns < changed_.units.size()) visit(cell + changed_.columns);
    }

    std::size_t cell_of(Point place) const {
        const double column = (place.x - changed_.origin.x) / changed_.cell_m,
                     row = (place.y - changed_.origin.y) / changed_.cell_m;
        if (!(column >= 0 && row >= 0) || column >= static_cast<double>(changed_.columns) ||
            row >= static_cast<double>(changed_.rows))
            return changed_.units.size();
        return static_cast<std::size_t>(row) * changed_.columns + static_cast<std::size_t>(column);
    }
    model::UnitIndex drawn(std::size_t cell) const {
        return changed_.units[cell] != model::no_unit ? changed_.units[cell] : moved_[cell];
    }

    void draw_sure_stops() {
        // The disc has at least the minimum width and area, also when drawn in cells.
        const double radius = std::max(least_.min_width_m / 2, std::sqrt(least_.min_area_m2 / std::numbers::pi)) +
                              std::numbers::sqrt2 * changed_.cell_m;
        for (std::size_t s = 0; s < survey_.stops.size(); ++s) {
            const StopFit& stop = fit_.stops[s];
            const Point place = survey_.stops[s].position;
            const std::size_t own = cell_of(place);
            if (!fit_.calibrated || stop.p_fitted <= sure || stop.fitted_unit == model::no_unit ||
                own == changed_.units.size())
                continue;
            if (moved_[own] == model::no_unit || drawn(own) == stop.fitted_unit) continue;
            if (near(place, survey_.stops[s].position_sd_m, stop.fitted_unit)) continue;
            for_cells_about(place, radius, [&](std::size_t cell) {
                if (moved_[cell] != model::no_unit && nearer_than_others(s, changed_.centre(cell), radius))
                    changed_.units[cell] = stop.fitted_unit == moved_[cell] ? model::no_unit : stop.fitted_unit;
            });
        }
    }

    bool near(Point place, double within_m, model::UnitIndex unit) const {
        bool found = false;
        for_cells_about(place, within_m, [&](std::size_t cell) { found = found || drawn(cell) == unit; });
        return found;
    }

    template <class Visit>
    void for_cells_about(Point place, double radius, Visit&& visit) const {
        const auto reach = static_cast<std::int64_t>(radius / changed_.cell_m) + 1;
        const auto column = static_cast<std::int64_t>((place.x - changed_.origin.x) / changed_.cell_m);
        const auto row = static_cast<std::int64_t>((place.y - changed_.origin.y) / changed_.cell_m);
        for (std::int64_t r = std::max<std::int64_t>(0, row - reach); r <= row + reach; ++r) {
            if (r >= static_cast<std::int64_t>(changed_.rows)) break;
            for (std::int64_t c = std::max<std::int64_t>(0, column - reach); c <= column + reach; ++c) {
                if (c >= static_cast<std::int64_t>(changed_.columns)) break;
                const std::size_t cell = static_cast<std::size_t>(r) * changed_.columns + static_cast<std::size_t>(c);
                if (distance(changed_.centre(cell), place) <= radius) visit(cell);
            }
        }
    }

    /// Stops that are as sure of another unit keep the area nearer to them.
    bool nearer_than_others(std::size_t stop, Point place, double radius) const {
        const double own = distance(survey_.stops[stop].position, place);
        for (std::size_t s = 0; s < survey_.stops.size(); ++s) {
            if (fit_.stops[s].p_fitted <= sure || fit_.stops[s].fitted_unit == fit_.stops[stop].fitted_unit) continue;
            const double other = distance(survey_.stops[s].position, place);
            if (other < radius && (other < own || (other == own && s < stop))) return false;
        }
        return true;
    }

    /// An area next to its own unit overlaps it a little, so that no sliver remains between.
    void grow_into_own_unit() {
        for (int round = 0; round < 2; ++round) {
            const std::vector<model::UnitIndex> before = changed_.units;
            for (std::size_t cell = 0; cell < before.size(); ++cell) {
                if (before[cell] != model::no_unit) continue;
                for_neighbours(cell, [&](std::size_t next) {
                    if (before[next] != model::no_unit && before[next] == moved_[cell])
                        changed_.units[cell] = moved_[cell];
                });
            }
        }
    }

    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const Fit& fit_;
    geo::LeastDrawn least_;
    geo::UnitGrid changed_;                   ///< no_unit: as in the draft, with contacts moved
    std::vector<model::UnitIndex> moved_;     ///< for each cell the draft's unit, with contacts moved
    std::vector<model::UnitIndex> favoured_;  ///< more probable than that; no_unit: none
    double change_odds_ = AnswerSettings().change_odds;
};

/// Area of `revised` that the draft gives to another unit.
double changed_ground(const RevisedUnit& revised, const std::vector<model::MapPolygon>& draft,
                      const std::vector<Box>& boxes) {
    const Box box = box_of(revised.redrawn.shell);
    MultiPolygon own;
    for (std::size_t i = 0; i < draft.size(); ++i)
        if (draft[i].unit == revised.unit && meet(box, boxes[i])) own.push_back(draft[i].polygon);
    double sum = 0;
    for (const Polygon& part : geo::ground_without({revised.redrawn}, own)) sum += geo::area_m2(part);
    return sum < 1 ? 0 : sum;  // less is rounding error
}

/// Mean probability of its unit over each polygon, sampled at many places. `ask(place, unit)`: the probability;
/// `rings(unit)`: its polygon.
template <class Ask, class Rings>
void find_probabilities(const Box& box, const Ask& ask, const Rings& rings, unsigned threads,
                        std::vector<RevisedUnit>& revised) {
    // A map whose 'units' are polygon numbers shows which polygon lies where.
    std::vector<model::MapPolygon> numbered;
    for (std::size_t i = 0; i < revised.size(); ++i)
        numbered.push_back({static_cast<model::UnitIndex>(i), 0, rings(revised[i])});
    geo::UnitMapOptions options;
    options.threads = threads;
    ProblemLog unheard;
    const geo::UnitMap polygons(std::move(numbered), revised.size(), options, unheard);
    const double step = std::sqrt(std::max(box.width() * box.height(), 1.0) / samples);
    const auto columns = static_cast<std::size_t>(box.width() / step) + 1,
               rows = static_cast<std::size_t>(box.height() / step) + 1;
    struct Sample {
        model::UnitIndex polygon = model::no_unit;
        double probability = 0;
    };
    const auto unit_of = [&](std::size_t polygon) { return revised[polygon].unit; };
    std::vector<Sample> sampled(columns * rows);
    parallel_blocks(sampled.size(), 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            const Point place{box.min_x + (static_cast<double>(i % columns) + 0.5) * step,
                              box.min_y + (static_cast<double>(i / columns) + 0.5) * step};
            sampled[i].polygon = polygons.unit_at(place);
            if (sampled[i].polygon != model::no_unit)
                sampled[i].probability = ask(place, unit_of(static_cast<std::size_t>(sampled[i].polygon)));
        }
    });
    std::vector<double> sum(revised.size(), 0), count(revised.size(), 0);
    for (const Sample& sample : sampled) {
        if (sample.polygon == model::no_unit) continue;
        sum[static_cast<std::size_t>(sample.polygon)] += sample.probability;
        count[static_cast<std::size_t>(sample.polygon)] += 1;
    }
    for (std::size_t i = 0; i < revised.size(); ++i) {
        // A polygon too small for the samples is sampled at a place inside it.
        revised[i].probability =
            count[i] > 0 ? sum[i] / count[i] : ask(geo::place_inside(rings(revised[i])), unit_of(i));
    }
}

}  // namespace

std::string_view to_string(RevisedSource source) {
    switch (source) {
        case RevisedSource::as_drawn:
            return "as_drawn";
        case RevisedSource::contact_moved:
            return "contact_moved";
        case RevisedSource::area_redrawn:
            return "area_redrawn";
        case RevisedSource::new_area:
            return "new_area";
    }
    return {};
}

std::string_view description(RevisedSource source) {
    switch (source) {
        case RevisedSource::as_drawn:
            return "As drawn in the draft";
        case RevisedSource::contact_moved:
            return "A polygon of the draft; its contacts moved";
        case RevisedSource::area_redrawn:
            return "A polygon of the draft; an area was added to it or cut from it";
        case RevisedSource::new_area:
            return "New; the draft has no polygon of this unit here";
    }
    return {};
}

Polygon polygon_of(const RevisedUnit& unit, const geo::UnitMap& map) {
    return unit.source == RevisedSource::as_drawn ? map.polygon(unit.drafted).polygon : unit.redrawn;
}

std::vector<model::MapPolygon> polygons_of(const RevisedMap& revised, const geo::UnitMap& map) {
    std::vector<model::MapPolygon> polygons;
    for (const RevisedUnit& unit : revised.units) polygons.push_back({unit.unit, unit.row, polygon_of(unit, map)});
    return polygons;
}

namespace {

/// The draft as drawn.
std::vector<RevisedUnit> all_as_drawn(const geo::UnitMap& map, unsigned threads) {
    std::vector<RevisedUnit> units(map.polygon_count());
    parallel_blocks(units.size(), 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            const model::MapPolygon polygon = map.polygon(i);
            units[i].unit = polygon.unit;
            units[i].row = polygon.row;
            units[i].drafted = i;
            units[i].area_m2 = geo::area_m2(polygon.polygon);
        }
    });
    return units;
}

/// The draft with its contacts moved and `areas` drawn into it.
std::vector<RevisedUnit> redrawn_units(const geo::UnitMap& map, const Relocation& relocation,
                                       const std::vector<model::MapPolygon>& areas, const geo::LeastDrawn& least,
                                       unsigned threads) {
    const std::vector<model::MapPolygon> draft = map.polygons();
    std::vector<Box> boxes;
    for (const model::MapPolygon& polygon : draft) boxes.push_back(box_of(polygon.polygon.shell));
    std::vector<geo::Redrawn> drawn = geo::redraw(relocation.moved ? relocation.units : draft, areas, least);
    std::vector<RevisedUnit> units(drawn.size());
    parallel_blocks(drawn.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            RevisedUnit& unit = units[i];
            const std::size_t first = drawn[i].parts.front();
            unit.drafted = relocation.moved ? relocation.drafted[first] : first;
            const bool untouched = drawn[i].as_it_was &&
                                   (!relocation.moved || same(drawn[i].polygon.polygon, draft[unit.drafted].polygon));
            unit.source = untouched                   ? RevisedSource::as_drawn
                          : drawn[i].as_it_was        ? RevisedSource::contact_moved
                          : drawn[i].polygon.row == 0 ? RevisedSource::new_area
                                                      : RevisedSource::area_redrawn;
            unit.unit = drawn[i].polygon.unit;
            unit.row = drawn[i].polygon.row;
            unit.area_m2 = geo::area_m2(drawn[i].polygon.polygon);
            if (untouched) continue;
            unit.redrawn = std::move(drawn[i].polygon.polygon);
            unit.changed_m2 = changed_ground(unit, draft, boxes);
        }
    });
    return units;
}

}  // namespace

RevisedMap revise_map(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                      const Relocation& relocation, unsigned threads) {
    std::vector<model::MapPolygon> areas;
    geo::LeastDrawn least;
    if (!fit.answer.empty() && !survey.stops.empty()) {
        const double error_m = fit.answer.contact_sd_m();
        least = {error_m, 4 * error_m * error_m};
        areas = Drawing(survey, map, fit, least, threads).areas();
    }
    RevisedMap result;
    result.units = !relocation.moved && areas.empty() ? all_as_drawn(map, threads)
                                                      : redrawn_units(map, relocation, areas, least, threads);
    for (const RevisedUnit& unit : result.units) {
        result.area_m2 += unit.area_m2;
        result.changed_m2 += unit.changed_m2;
    }
    if (!fit.answer.empty()) {
        const auto ask = [&](Point place, model::UnitIndex unit) {
            std::vector<float> p(survey.units.size());
            fit.answer.at(place, p);
            return static_cast<double>(p[static_cast<std::size_t>(unit)]);
        };
        const auto rings = [&](const RevisedUnit& unit) { return polygon_of(unit, map); };
        find_probabilities(map.extent(), ask, rings, threads, result.units);
    }
    result.contacts = redrawn_contacts(result, map, fit, relocation, threads);
    return result;
}

RevisedMap revised_map_of(const FirstMap& first) {
    RevisedMap result;
    Box box;
    for (const model::MapPolygon& polygon : first.polygons) {
        RevisedUnit unit;
        unit.unit = polygon.unit;
        unit.row = polygon.row;
        unit.redrawn = polygon.polygon;
        unit.source = RevisedSource::new_area;
        unit.changed_m2 = unit.area_m2 = geo::area_m2(polygon.polygon);
        result.area_m2 += unit.area_m2;
        box.add(box_of(polygon.polygon.shell));
        result.units.push_back(std::move(unit));
    }
    result.changed_m2 = result.area_m2;
    const auto ask = [&](Point place, model::UnitIndex unit) {
        std::vector<float> p(first.units);
        probability_at(first, place, p);
        return static_cast<double>(p[static_cast<std::size_t>(unit)]);
    };
    const auto rings = [](const RevisedUnit& unit) { return unit.redrawn; };
    if (!result.units.empty()) find_probabilities(box, ask, rings, 1, result.units);
    return result;
}

}  // namespace subcrop::infer
