#include "infer/contacts/redrawn_contacts.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <numbers>
#include <span>
#include <utility>

#include "infer/contacts/cut_edges.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"

namespace subcrop::infer {

namespace {

/// Redrawn polygons and all that may touch them: their contacts are those of the whole map.
geo::UnitMap map_about_redrawn(const RevisedMap& revised, const geo::UnitMap& draft, unsigned threads) {
    std::vector<Box> redrawn;
    for (const RevisedUnit& unit : revised.units)
        if (unit.of_redrawn_area()) redrawn.push_back(box_of(unit.redrawn.shell));
    std::vector<model::MapPolygon> polygons;
    for (const RevisedUnit& unit : revised.units) {
        Polygon rings = polygon_of(unit, draft);
        const Box box = box_of(rings.shell);
        if (std::any_of(redrawn.begin(), redrawn.end(), [&](const Box& other) { return meet(box, other); }))
            polygons.push_back({unit.unit, unit.row, std::move(rings)});
    }
    ProblemLog unheard;  // of the draft's gaps, which were told
    geo::UnitMapOptions options;
    options.threads = threads;
    return {std::move(polygons), draft.unit_count(), options, unheard};
}

/// Whether a place lies in the 90 % zone of a drawn contact between two units.
class DrawnZones {
public:
    DrawnZones(const geo::UnitMap& draft, const Relocation& relocation) : draft_(draft), relocation_(relocation) {
        for (std::size_t c = 0; c < draft.contacts().size(); ++c) {
            const std::vector<double>& widths = relocation.contacts[c].half_widths_m;
            const double widest = widths.empty() ? 0 : *std::max_element(widths.begin(), widths.end());
            const Box line = box_of(relocated_line(relocation, draft, c));
            Box& box = box_.emplace_back();
            box.add(Point{line.min_x - widest, line.min_y - widest});
            box.add(Point{line.max_x + widest, line.max_y + widest});
        }
    }

    /// Drawn contacts between the same units whose zones may reach this line.
    std::vector<std::size_t> near(const geo::Contact& contact) const {
        const Box box = box_of(contact.line);
        std::vector<std::size_t> found;
        for (std::size_t c = 0; c < box_.size(); ++c) {
            const geo::Contact& drawn = draft_.contacts()[c];
            if (drawn.unit_a == contact.unit_a && drawn.unit_b == contact.unit_b && meet(box, box_[c]))
                found.push_back(c);
        }
        return found;
    }

    bool hold(Point place, std::span<const std::size_t> contacts) const {
        return std::any_of(contacts.begin(), contacts.end(), [&](std::size_t c) {
            const NearestOnLine nearest = nearest_on(relocated_line(relocation_, draft_, c), place);
            const std::vector<double>& widths = relocation_.contacts[c].half_widths_m;
            if (widths.empty()) return false;
            const double width = widths.size() == 1
                                     ? widths[0]
                                     : (widths[nearest.edge > 0 ? nearest.edge - 1 : 0] + widths[nearest.edge]) / 2;
            return nearest.off_m <= width;
        });
    }

private:
    const geo::UnitMap& draft_;
    const Relocation& relocation_;
    std::vector<Box> box_;
};

/// Half-width of the zone of a redrawn line: how fast the answer changes across it. A line that errs by a normal law of
/// standard error s has dP/dx = 1 / (s sqrt(2 pi)) at its middle.
class ZoneWidth {
public:
    ZoneWidth(const Fit& fit, std::size_t units) : fit_(fit), probability_(units) {
        const double least = half_width_in_sd * fit.contact_sd_m;
        widest_m_ = std::max(fit.answer.stop_distance_m(), 2 * least);
        narrowest_m_ = least / 2;
    }

    double half_width_m(Point from, Point to, model::UnitIndex left, model::UnitIndex right) {
        const double length = distance(from, to), off_m = fit_.contact_sd_m / 2;
        if (length <= 0) return narrowest_m_;
        const Point middle{(from.x + to.x) / 2, (from.y + to.y) / 2};
        const Point way{-(to.y - from.y) / length * off_m, (to.x - from.x) / length * off_m};
        const double fall = share_of(left, right, {middle.x + way.x, middle.y + way.y}) -
                            share_of(left, right, {middle.x - way.x, middle.y - way.y});
        const double error_m = 2 * off_m / (std::max(fall, 1e-6) * std::sqrt(2 * std::numbers::pi));
        return std::clamp(half_width_in_sd * error_m, narrowest_m_, widest_m_);
    }

private:
    /// Of the two units the probability of the first.
    double share_of(model::UnitIndex one, model::UnitIndex other, Point place) {
        fit_.answer.at(place, probability_);
        const double a = static_cast<double>(probability_[static_cast<std::size_t>(one)]),
                     b = static_cast<double>(probability_[static_cast<std::size_t>(other)]);
        return a + b > 0 ? a / (a + b) : 0.5;
    }

    const Fit& fit_;
    std::vector<float> probability_;
    double narrowest_m_ = 0, widest_m_ = 0;
};

}  // namespace

std::vector<RedrawnContact> redrawn_contacts(const RevisedMap& revised, const geo::UnitMap& draft, const Fit& fit,
                                             const Relocation& relocation, unsigned threads) {
    constexpr std::size_t asked_of_a_line = 40;  // places at which its zone is measured
    if (fit.answer.empty() ||
        std::none_of(revised.units.begin(), revised.units.end(), std::mem_fn(&RevisedUnit::of_redrawn_area)))
        return {};
    const geo::UnitMap about = map_about_redrawn(revised, draft, threads);
    const DrawnZones zones(draft, relocation);
    const double error_m = fit.contact_sd_m;
    std::vector<std::vector<RedrawnContact>> found(about.contacts().size());
    parallel_blocks(found.size(), 4, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        ZoneWidth width_of(fit, draft.unit_count());
        for (std::size_t i = begin; i < end; ++i) {
            const geo::Contact& contact = about.contacts()[i];
            const std::vector<std::size_t> near = zones.near(contact);
            const model::UnitIndex right = contact.left == contact.unit_a ? contact.unit_b : contact.unit_a;
            Line piece;
            const auto close = [&] {
                double length = 0;
                for (std::size_t k = 1; k < piece.size(); ++k) length += distance(piece[k - 1], piece[k]);
                if (length >= 2 * error_m) {
                    const std::size_t edges = piece.size() - 1, every = (edges + asked_of_a_line - 1) / asked_of_a_line;
                    double squares = 0, weights = 0;
                    for (std::size_t k = 1; k <= edges; k += every) {
                        const double width = width_of.half_width_m(piece[k - 1], piece[k], contact.left, right);
                        const double weight = distance(piece[k - 1], piece[k]);
                        squares += weight * width * width;
                        weights += weight;
                    }
                    found[i].push_back(
                        {contact.unit_a, contact.unit_b, piece, std::sqrt(squares / std::max(weights, 1e-9))});
                }
                piece.clear();
            };
            const Line line = cut_edges(contact.line, error_m);
            for (std::size_t k = 1; k < line.size(); ++k) {
                if (zones.hold({(line[k - 1].x + line[k].x) / 2, (line[k - 1].y + line[k].y) / 2}, near)) {
                    close();
                    continue;
                }
                if (piece.empty()) piece.push_back(line[k - 1]);
                piece.push_back(line[k]);
            }
            close();
        }
    });
    std::vector<RedrawnContact> all;
    for (std::vector<RedrawnContact>& of_one : found)
        all.insert(all.end(), std::make_move_iterator(of_one.begin()), std::make_move_iterator(of_one.end()));
    return all;
}

}  // namespace subcrop::infer
