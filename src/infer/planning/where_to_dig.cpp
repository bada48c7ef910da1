#include "subcrop/infer/where_to_dig.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "infer/planning/allowed_places.hpp"
#include "subcrop/core/planar.hpp"

namespace subcrop::infer {

namespace {

/// Number of places along a part that are compared.
constexpr int places_along = 9;

std::string whole_metres(double m) { return std::to_string(std::llround(m)); }

class Seeker {
public:
    Seeker(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
           std::size_t contact, const ContactStretch& part)
        : survey_(survey),
          map_(map),
          fit_(fit),
          relocation_(relocation),
          contact_(map.contacts()[contact]),
          relocated_(relocation.contacts[contact]),
          part_(part),
          allowed_(survey, map),
          side_(doubted_side()) {}

    std::optional<DigPlace> best() const {
        std::optional<DigPlace> best;
        double farthest_m = -1;
        for (int k = 0; k < places_along; ++k) {
            const double share = (k + 0.5) / places_along;
            const std::optional<DigPlace> dig = beside(part_.from_m + share * (part_.to_m - part_.from_m));
            if (!dig) continue;
            double free_m = std::min(share, 1 - share) * (part_.to_m - part_.from_m);
            for (const auto* stops : {&part_.supporting, &part_.contradicting})
                for (const std::uint32_t s : *stops)
                    free_m = std::min(free_m, distance(survey_.stops[s].position, dig->place));
            if (free_m > farthest_m) {
                farthest_m = free_m;
                best = dig;
            }
        }
        if (best) best->sentence = sentence(*best);
        return best;
    }

private:
    /// The unit whose side the stops or a traverse put in doubt; none if nothing tells.
    model::UnitIndex doubted_side() const {
        if (relocated_.disputed) return fit_.clusters[*relocated_.disputed].drafted;
        if (!part_.contradicting.empty()) return fit_.stops[part_.contradicting.front()].mapped_unit;
        return part_.crossed_elsewhere ? map_.unit_at(*part_.crossed_elsewhere) : model::no_unit;
    }

    /// Beside the contact's place at `along_m`.
    std::optional<DigPlace> beside(double along_m) const {
        const Point on_line = place_along(contact_.line, along_m);
        if (part_.review == Review::shift) return between(on_line, along_m);
        const double off_m = part_.half_width_m;
        const std::array<Point, 2> sides{off_line(along_m, off_m), off_line(along_m, -off_m)};
        if (part_.review == Review::untested) {
            if (!allowed_(sides[0]) || !allowed_(sides[1]) || !ours(sides[0]) || !ours(sides[1])) return std::nullopt;
            return DigPlace{.place = on_line, .to_either_side_m = off_m, .sentence = {}};
        }
        for (const Point side : sides) {
            const auto here = ours(side);
            if (here && (*here == side_ || side_ == model::no_unit) && allowed_(side))
                return DigPlace{.place = side, .if_drawn = *here, .if_not = other(*here), .sentence = {}};
        }
        return std::nullopt;
    }

    /// Half way from the drawn line to the moved one.
    std::optional<DigPlace> between(Point on_line, double along_m) const {
        Point moved = on_line;
        if (part_.moved) {
            const MovedStretch& stretch = relocated_.stretches[*part_.moved];
            moved = place_like(stretch.drafted, stretch.moved, along_m - stretch.from_m);
        } else {
            const NearestOnLine foot = nearest_on(relocated_.line, on_line);
            moved = place_along(relocated_.line, foot.along_m);
        }
        const Point middle{(on_line.x + moved.x) / 2, (on_line.y + moved.y) / 2};
        const auto here = ours(middle);
        if (!here || !allowed_(middle)) return std::nullopt;
        return DigPlace{.place = middle, .if_drawn = *here, .if_not = other(*here), .sentence = {}};
    }

    /// The place on `moved` that lies at `along_m` of `drafted`; both have the same vertices.
    static Point place_like(const Line& drafted, const Line& moved, double along_m) {
        double left = std::max(along_m, 0.0);
        for (std::size_t i = 1; i < drafted.size(); ++i) {
            const double step = distance(drafted[i - 1], drafted[i]);
            if (step > 0 && step >= left)
                return {std::lerp(moved[i - 1].x, moved[i].x, left / step),
                        std::lerp(moved[i - 1].y, moved[i].y, left / step)};
            left -= step;
        }
        return moved.back();
    }

    /// To the left of the line if `off_m` is above 0. The normal is that of a chord as long as the zone is wide.
    Point off_line(double along_m, double off_m) const {
        const double reach_m = std::abs(off_m);
        const Point from = place_along(contact_.line, along_m - reach_m),
                    to = place_along(contact_.line, along_m + reach_m), at = place_along(contact_.line, along_m);
        const double length = std::max(distance(from, to), std::numeric_limits<double>::min());
        return {at.x - (to.y - from.y) / length * off_m, at.y + (to.x - from.x) / length * off_m};
    }

    /// The unit drawn at a place, if it is one of the contact's two.
    std::optional<model::UnitIndex> ours(Point place) const {
        const model::UnitIndex unit = map_.unit_at(place);
        return unit == contact_.unit_a || unit == contact_.unit_b ? std::optional(unit) : std::nullopt;
    }
    model::UnitIndex other(model::UnitIndex unit) const {
        return unit == contact_.unit_a ? contact_.unit_b : contact_.unit_a;
    }

    std::string code(model::UnitIndex unit) const { return survey_.units[static_cast<std::size_t>(unit)].code; }

    std::string sentence(const DigPlace& dig) const {
        const std::string at = whole_metres(dig.place.x) + " east, " + whole_metres(dig.place.y) + " north";
        if (dig.to_either_side_m > 0)
            return "Dig on both sides of " + at + ", " + whole_metres(dig.to_either_side_m) +
                   " m from it: " + code(contact_.unit_a) + " and " + code(contact_.unit_b) +
                   " if the contact is right.";
        return "Dig at " + at + ": " + code(dig.if_drawn) + " if the contact is right as drawn, " + code(dig.if_not) +
               (part_.review == Review::shift ? " if it moves." : " if it is not there.");
    }

    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const Fit& fit_;
    const Relocation& relocation_;
    const geo::Contact& contact_;
    const RelocatedContact& relocated_;
    const ContactStretch& part_;
    AllowedPlaces allowed_;
    model::UnitIndex side_;
};

}  // namespace

std::optional<DigPlace> where_to_dig(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                     const Relocation& relocation, std::size_t contact, const ContactStretch& part) {
    if (part.review == Review::supported) return std::nullopt;
    return Seeker(survey, map, fit, relocation, contact, part).best();
}

}  // namespace subcrop::infer
