#include "subcrop/infer/next_stops.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "infer/answer/dispute_edges.hpp"
#include "infer/description/confusion.hpp"
#include "infer/planning/allowed_places.hpp"
#include "infer/planning/discernment.hpp"
#include "infer/planning/expected_fall.hpp"
#include "infer/planning/walk.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/infer/answer_settings.hpp"

namespace subcrop::infer {

namespace {

/// A stop tells of the area within this share of the reach: bodies that a draft leaves out are smaller than those it
/// has. Common practice, no source.
constexpr double tells_within = 0.5;
/// An area is without stops where none lies within this many reaches.
constexpr double without_within = 1.5;
/// Squares looked at on either axis for areas without stops.
constexpr double max_squares = 400;
/// A visit nearer than this to a stop, in standard errors of a contact, would see what is known.
constexpr double told_apart_from = 0.5;
/// A visit that gains less is not worth the walk.
constexpr double min_gain_m2 = 50;
/// Of the mean distance between stops, within which the answer errs alike. On nine invented surveys 40 visits were then
/// expected to gain what they did (tests/bench/visits_played).
constexpr double alike_within = 0.6;
/// A place that is surer than this is not looked at.
constexpr float unsure_from = 0.15F;

/// A square of which no stop tells.
struct Bare {
    Point place;
    double gain_m2 = 0;
    model::UnitIndex unit = model::no_unit;
};

/// Of the area within a radius, what lies on the map.
double share_on_map(const geo::UnitMap& map, Point place, double radius) {
    constexpr int steps = 3;  // on each side
    int all = 0, on = 0;
    for (int i = -steps; i <= steps; ++i) {
        for (int j = -steps; j <= steps; ++j) {
            if (i * i + j * j > steps * steps) continue;
            ++all;
            on += map.unit_at({place.x + radius * i / steps, place.y + radius * j / steps}) != model::no_unit;
        }
    }
    return static_cast<double>(on) / all;
}

std::vector<Bare> areas_without_stops(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                      const Discernments& discernments, double reach_m, const AllowedPlaces& allowed) {
    Box box = map.extent();
    std::vector<Bare> bare;
    const double side = std::max({reach_m / 2, box.width() / max_squares, box.height() / max_squares});
    if (box.empty() || side <= 0) return bare;
    const double far = std::max(without_within * reach_m, side);
    const auto columns = static_cast<std::ptrdiff_t>(box.width() / side) + 1,
               rows = static_cast<std::ptrdiff_t>(box.height() / side) + 1;
    std::vector<std::uint8_t> told_of(static_cast<std::size_t>(columns * rows), 0);
    const auto middle = [&](std::ptrdiff_t c, std::ptrdiff_t r) {
        return Point{box.min_x + (static_cast<double>(c) + 0.5) * side,
                     box.min_y + (static_cast<double>(r) + 0.5) * side};
    };
    for (const model::Stop& stop : survey.stops) {
        const auto low_c =
            std::max<std::ptrdiff_t>(0, std::lround(std::floor((stop.position.x - far - box.min_x) / side)));
        const auto low_r =
            std::max<std::ptrdiff_t>(0, std::lround(std::floor((stop.position.y - far - box.min_y) / side)));
        for (auto c = low_c; c < columns && middle(c, 0).x <= stop.position.x + far; ++c)
            for (auto r = low_r; r < rows && middle(0, r).y <= stop.position.y + far; ++r)
                if (distance(middle(c, r), stop.position) <= far)
                    told_of[static_cast<std::size_t>(r * columns + c)] = 1;
    }
    // A visit is weighted by how well the unit is distinguished from the others, on average.
    const std::size_t units = survey.units.size();
    std::vector<double> told(units, 0.0);
    for (std::size_t u = 0; u < units; ++u) {
        for (std::size_t v = 0; v < units; ++v)
            if (u != v)
                told[u] +=
                    discernments.between(static_cast<model::UnitIndex>(u), static_cast<model::UnitIndex>(v)).mean /
                    static_cast<double>(units - 1);
    }
    // Where bedrock was observed at too few stops the answer does not ask for areas drawn wrong.
    const double usual = AnswerSettings().wrong_areas * survey.settings.draft_error_share;
    const auto wrong_area = [&](Point place) {
        return fit.answer.empty() ? usual : std::max(fit.answer.p_disputed(place), usual);
    };
    const double radius = tells_within * reach_m, area = std::numbers::pi * radius * radius;
    for (std::ptrdiff_t r = 0; r < rows; ++r) {
        for (std::ptrdiff_t c = 0; c < columns; ++c) {
            const Point place = middle(c, r);
            const model::UnitIndex unit =
                told_of[static_cast<std::size_t>(r * columns + c)] ? model::no_unit : map.unit_at(place);
            if (unit == model::no_unit || !allowed(place)) continue;
            if (map.nearest_contact(place, radius)) continue;  // there the contact itself is the better place to look
            bare.push_back(
                {place,
                 wrong_area(place) * told[static_cast<std::size_t>(unit)] * area * share_on_map(map, place, radius),
                 unit});
        }
    }
    return bare;
}

/// Places of stops. A visit close to one would show the same, or could not be distinguished from it by position.
class DugPlaces {
public:
    DugPlaces(const model::Survey& survey, double position_sd_m, double min_m) {
        for (const model::Stop& stop : survey.stops) {
            const double apart = std::max(2 * std::hypot(position_sd_m, stop.position_sd_m), min_m);
            widest_m_ = std::max(widest_m_, apart);
            places_.push_back({stop.position, apart});
        }
        std::sort(places_.begin(), places_.end(), [](const Dug& a, const Dug& b) { return a.place.x < b.place.x; });
    }
    bool near(Point place) const {
        const auto first = std::lower_bound(places_.begin(), places_.end(), place.x - widest_m_,
                                            [](const Dug& dug, double x) { return dug.place.x < x; });
        for (auto dug = first; dug != places_.end() && dug->place.x <= place.x + widest_m_; ++dug)
            if (distance(dug->place, place) < dug->apart_m) return true;
        return false;
    }

private:
    struct Dug {
        Point place;
        double apart_m = 0;
    };
    std::vector<Dug> places_;
    double widest_m_ = 0;
};

/// Along a contact within which its error is alike: a field's, where one was adopted. Else the geometric mean of the
/// stated error (were it shorter, contacts would cross themselves) and the mean length of a contact (were it longer,
/// contacts would move as a whole): between the two nothing is known beforehand.
double usual_reach_m(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                     const Relocation& relocation) {
    if (relocation.moved) return fit.shift.field.reach_m();
    double length = 0;
    for (const geo::Contact& contact : map.contacts()) length += contact.length_m;
    const double mean = map.contacts().empty() ? 0 : length / static_cast<double>(map.contacts().size());
    return std::sqrt(survey.contact_sd_m * std::max(survey.contact_sd_m, mean));
}

/// The answer; without one (contacts were not asked to move) the draft, blurred by the error of contacts.
ExpectedFall::Ask asked(const geo::UnitMap& map, const Fit& fit) {
    if (!fit.answer.empty())
        return [&fit](Point place, std::span<float> probability) { fit.answer.at(place, probability); };
    return [&map, sd_m = fit.contact_sd_m](Point place, std::span<float> probability) {
        std::vector<double> shares(probability.size());
        map.membership(place, sd_m, shares);
        std::copy(shares.begin(), shares.end(), probability.begin());
    };
}

double stop_distance_m(const model::Survey& survey, const Fit& fit) {
    if (!fit.answer.empty()) return fit.answer.stop_distance_m();
    Box box;
    for (const model::Stop& stop : survey.stops) box.add(stop.position);
    return std::sqrt(std::max(box.width() * box.height(), 1.0) / static_cast<double>(survey.stops.size()));
}

class Planner {
public:
    Planner(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
            const NextStopOptions& options, unsigned threads)
        : survey_(survey),
          map_(map),
          fit_(fit),
          relocation_(relocation),
          options_(options),
          threads_(threads),
          allowed_(survey, map),
          told_(survey, fit),
          fall_(map, asked(map, fit), told_, fit.contact_sd_m,
                options.alike_m.value_or(alike_within * stop_distance_m(survey, fit)), threads),
          reach_m_(usual_reach_m(survey, map, fit, relocation)),
          known_(known_stops(*fit.reckoning)),
          dug_(survey, options.position_sd_m, told_apart_from * fit.contact_sd_m),
          bare_(areas_without_stops(survey, map, fit, told_, reach_m_, allowed_)) {
        for (std::size_t i = 0; i < fall_.cells().size(); ++i) {
            const ExpectedFall::Cell& cell = fall_.cells()[i];
            // Every second place of the lattice: their neighbours would gain much the same.
            if ((cell.column + cell.row) % 2 != 0 || cell.p_unit > 1 - unsure_from) continue;
            if (allowed_(cell.place) && !dug_.near(cell.place)) candidates_.push_back({i, nearest_contact(cell)});
        }
        reckon_near({}, std::numeric_limits<double>::infinity());
    }

    std::vector<NextStop> plan() {
        std::vector<NextStop> stops;
        std::map<std::pair<model::UnitIndex, model::UnitIndex>, double>
            worth;  // areas without stops: by one unit twice
        const auto worth_of = [&](model::UnitIndex a, model::UnitIndex b) -> double& {
            return worth.try_emplace(std::minmax(a, b), 1.0).first->second;
        };
        while (stops.size() < options_.count) {
            const auto counts = [&](const auto& one, model::UnitIndex a, model::UnitIndex b) {
                return one.gain_m2 < min_gain_m2 ? 0 : one.gain_m2 * worth_of(a, b);
            };
            const auto counts_of = [&](const Candidate& one) {
                return counts(one, fall_.cells()[one.cell].unit, fall_.cells()[one.cell].other);
            };
            double most = 0;
            for (const Candidate& one : candidates_) most = std::max(most, counts_of(one));
            for (const Bare& square : bare_) most = std::max(most, counts(square, square.unit, square.unit));
            if (most <= 0) break;
            // Of equals the first by its place, so that the order of rows, which changes last digits, says nothing.
            const double enough = most * (1 - 1e-4);
            const auto best = std::find_if(candidates_.begin(), candidates_.end(),
                                           [&](const Candidate& one) { return counts_of(one) >= enough; });
            const auto bare = std::find_if(bare_.begin(), bare_.end(), [&](const Bare& square) {
                return best == candidates_.end() && counts(square, square.unit, square.unit) >= enough;
            });
            if (bare != bare_.end()) {
                stops.push_back(describe_bare(*bare));
                worth_of(bare->unit, bare->unit) *= options_.again;
            } else {
                stops.push_back(describe(*best));
                const ExpectedFall::Cell& cell = fall_.cells()[best->cell];
                worth_of(cell.unit, cell.other) *= options_.again;
                fall_.plan(best->cell);
            }
            leave_out_near(stops.back().place);
        }
        std::stable_sort(stops.begin(), stops.end(),
                         [](const NextStop& a, const NextStop& b) { return a.gain_ha > b.gain_ha; });
        number_walk(stops);
        return stops;
    }

private:
    struct Candidate {
        std::size_t cell = 0;                ///< of `fall_`
        std::optional<std::size_t> contact;  ///< between its two units, whose 90 % zone holds it
        double gain_m2 = 0;
    };

    /// Of the candidates within `near_m` of a place.
    void reckon_near(Point place, double near_m) {
        std::vector<Candidate*> near;
        for (Candidate& one : candidates_)
            if (distance(fall_.cells()[one.cell].place, place) <= near_m) near.push_back(&one);
        parallel_blocks(near.size(), 64, threads_, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t i = begin; i < end; ++i) {
                near[i]->gain_m2 = fall_.fall_m2(near[i]->cell);
                if (near[i]->contact) near[i]->gain_m2 *= exists(fall_.cells()[near[i]->cell]);
            }
        });
    }

    /// A contact that probably is not there is not worth placing: where the area on one side of it is disputed, and
    /// like the other side's unit, it exists only if the dispute is wrong.
    double exists(const ExpectedFall::Cell& cell) const {
        double probability = 1;
        for (const StopCluster& cluster : fit_.clusters)
            if (divides(cluster, cell.unit, cell.other) && reaches(survey_, cluster, cell.place))
                probability = std::min(probability, 1 - cluster.probability);
        return probability;
    }

    /// Of a contact's zone beside the place that is nearest on its line.
    double half_width_m(std::size_t contact, const NearestOnLine& nearest) const {
        const std::vector<double>& widths = relocation_.contacts[contact].half_widths_m;
        return widths.size() == 1 ? widths[0] : widths[nearest.edge];
    }
    NearestOnLine nearest_on_contact(std::size_t contact, Point place) const {
        return nearest_on(relocated_line(relocation_, map_, contact), place);
    }

    std::optional<std::size_t> nearest_contact(const ExpectedFall::Cell& cell) const {
        const auto nearest = map_.nearest_contact(
            fit_.answer.empty() ? cell.place : fit_.answer.place_on_draft(cell.place), 4 * fit_.contact_sd_m);
        if (!nearest) return std::nullopt;
        const geo::Contact& contact = map_.contacts()[nearest->contact];
        if (std::min(cell.unit, cell.other) != contact.unit_a || std::max(cell.unit, cell.other) != contact.unit_b)
            return std::nullopt;
        const NearestOnLine foot = nearest_on_contact(nearest->contact, cell.place);
        if (foot.off_m > half_width_m(nearest->contact, foot)) return std::nullopt;
        return nearest->contact;
    }

    /// Two visits nearer to one another than the zone is wide in which a contact is stated to lie would see the same.
    void leave_out_near(Point place) {
        const double apart_m = 2 * fit_.contact_sd_m, far_m = without_within * reach_m_;
        std::erase_if(candidates_,
                      [&](const Candidate& one) { return distance(fall_.cells()[one.cell].place, place) < apart_m; });
        std::erase_if(bare_, [&](const Bare& square) { return distance(square.place, place) <= far_m; });
        reckon_near(place, 2 * fall_.reach_m());
    }

    NextStop describe(const Candidate& one) const {
        const ExpectedFall::Cell& cell = fall_.cells()[one.cell];
        NextStop stop;
        stop.place = cell.place;
        stop.gain_ha = in_hectares(one.gain_m2);
        stop.unit_a = cell.unit;
        stop.unit_b = cell.other;
        if (!one.contact) {
            stop.purpose = named(cell.unit) + " lies here with " + percent(cell.p_unit) + ", " + named(cell.other) +
                           " with " + percent(cell.p_other) + ": see which of the two" +
                           told_apart(cell.unit, cell.other) + '.';
            return stop;
        }
        const geo::Contact& contact = map_.contacts()[*one.contact];
        stop.contact = one.contact;
        stop.unit_a = contact.unit_a;
        stop.unit_b = contact.unit_b;
        stop.half_width_m = half_width_m(*one.contact, nearest_on_contact(*one.contact, cell.place));
        // One reading at the middle of a normal law that is right with probability r leaves 1 - (2 r - 1)^2 2 / pi of
        // the variance.
        const double sure = 2 * told_.between(contact.unit_a, contact.unit_b).right_share() - 1;
        stop.half_width_after_m = stop.half_width_m * std::sqrt(1 - sure * sure * 2 / std::numbers::pi);
        stop.purpose = "Contact of " + named(contact.unit_a) + " with " + named(contact.unit_b) + ", located to ± " +
                       metres(stop.half_width_m) + " (90 %): see which of the two lies below" +
                       told_apart(contact.unit_a, contact.unit_b) + '.';
        return stop;
    }

    NextStop describe_bare(const Bare& square) const {
        NextStop stop;
        stop.place = square.place;
        stop.gain_ha = in_hectares(square.gain_m2);
        stop.purpose = "No stop within " + metres(without_within * reach_m_) + ": see whether " + named(square.unit) +
                       " lies here as drawn.";
        return stop;
    }

    /// "Os (Orrin sandstone)".
    std::string named(model::UnitIndex unit) const {
        const model::LegendUnit& entry = survey_.units[static_cast<std::size_t>(unit)];
        return entry.name.empty() || entry.name == entry.code ? entry.code : entry.code + " (" + entry.name + ')';
    }
    /// To a tenth of a square metre: see `plan`.
    static double in_hectares(double gain_m2) { return std::round(10 * gain_m2) / 1e5; }
    static std::string metres(double m) { return std::to_string(std::lround(m)) + " m"; }
    static std::string percent(float p) { return std::to_string(std::lround(100 * p)) + " %"; }

    std::string told_apart(model::UnitIndex a, model::UnitIndex b) const {
        const Discernment& pair = told_.between(a, b);
        if (pair.stops == 0) return {};
        const std::string channel = best_channel(*fit_.reckoning, known_, a, b).name;
        return ". So far the notes named the right one of the two at " + std::to_string(pair.right) + " of " +
               counted(pair.stops, "stop", "stops") + (channel.empty() ? "" : ", best by " + channel);
    }

    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const Fit& fit_;
    const Relocation& relocation_;
    NextStopOptions options_;
    unsigned threads_;
    AllowedPlaces allowed_;
    Discernments told_;
    ExpectedFall fall_;
    double reach_m_;
    std::vector<std::size_t> known_;
    DugPlaces dug_;
    std::vector<Bare> bare_;
    std::vector<Candidate> candidates_;
};

}  // namespace

std::vector<NextStop> suggest_next_stops(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                         const Relocation& relocation, const NextStopOptions& options,
                                         unsigned threads) {
    if (options.count == 0 || survey.units.size() < 2 || fit.without_draft) return {};
    return Planner(survey, map, fit, relocation, options, threads).plan();
}

}  // namespace subcrop::infer
