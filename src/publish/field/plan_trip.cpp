#include <algorithm>
#include <cmath>
#include <memory>
#include <numeric>
#include <set>

#include "publish/field/field_trip.hpp"
#include "publish/field/look_for.hpp"
#include "publish/field/walk_plan.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/field/written_place.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/io/terrain_reader.hpp"

namespace subcrop::publish {

namespace {

/// Old receivers show this many letters of a name.
constexpr std::size_t longest_name = 10;
/// A stop this near to a track is on it.
constexpr double on_track_m = 25;
/// A start this far from the survey is a mistake.
constexpr double farthest_start_m = 50'000;
/// Tolerance of simplified lines, because a receiver shows no finer detail.
constexpr double line_tolerance_m = 1;

std::string metres(double m) { return std::to_string(std::llround(m)) + " m"; }

/// Letters that every receiver shows.
std::string plain_letters(std::string_view text) {
    std::string result;
    for (const char c : text) {
        const bool plain =
            (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-' || c == ' ';
        if (plain) result += c;
    }
    return result;
}

/// "01 Ha-Kb", cut if the codes are long.
std::string short_name(const std::string& number, const model::Survey& survey, model::UnitIndex a, model::UnitIndex b) {
    const auto code = [&](model::UnitIndex unit) {
        return unit == model::no_unit ? std::string()
                                      : plain_letters(survey.units[static_cast<std::size_t>(unit)].code);
    };
    const std::string first = code(a), second = code(b);
    const std::size_t room = longest_name > number.size() + 1 ? longest_name - number.size() - 1 : 0;
    if (room < 3 || (first.empty() && second.empty())) return number;
    if (first.empty() || second.empty()) return number + ' ' + (first + second).substr(0, room);
    const std::size_t shorter = (room - 1) / 2;
    const std::size_t of_first = std::min(first.size(), std::max(shorter, room - 1 - std::min(second.size(), shorter)));
    return number + ' ' + first.substr(0, of_first) + '-' + second.substr(0, room - 1 - of_first);
}

std::string two_digits(std::size_t number) { return (number < 10 ? "0" : "") + std::to_string(number); }

/// The line without the vertices that lie within the tolerance of the line through the others (Douglas and Peucker
/// 1973).
Line simplified(const Line& line) {
    if (line.size() < 3) return line;
    std::vector<std::uint8_t> kept(line.size(), 0);
    kept.front() = kept.back() = 1;
    std::vector<std::pair<std::size_t, std::size_t>> open{{0, line.size() - 1}};
    while (!open.empty()) {
        const auto [from, to] = open.back();
        open.pop_back();
        double most = 0;
        std::size_t farthest = from;
        const Line chord{line[from], line[to]};
        for (std::size_t i = from + 1; i < to; ++i) {
            const double away = distance_to_lines(line[i], std::span(&chord, 1));
            if (away > most) {
                most = away;
                farthest = i;
            }
        }
        if (most <= line_tolerance_m) continue;
        kept[farthest] = 1;
        open.emplace_back(from, farthest);
        open.emplace_back(farthest, to);
    }
    Line result;
    for (std::size_t i = 0; i < line.size(); ++i)
        if (kept[i] != 0) result.push_back(line[i]);
    return result;
}

/// A ring keeps at least four places.
Ring simplified_ring(const Ring& ring) {
    if (ring.size() < 8) return ring;
    const auto half = static_cast<std::ptrdiff_t>(ring.size() / 2);
    Ring result = simplified(Ring(ring.begin(), ring.begin() + half + 1));
    const Ring rest = simplified(Ring(ring.begin() + half, ring.end()));
    result.insert(result.end(), rest.begin() + 1, rest.end());
    return result.size() < 4 ? ring : result;
}

class Planner {
public:
    Planner(const JudgedSurvey& judged, const geo::Terrain* terrain, const FieldOptions& options)
        : r_(judged), survey_(judged.data->survey), map_(judged.data->map), terrain_(terrain), options_(options) {}

    FieldTrip plan() {
        FieldSummary& s = trip_.summary;
        s.title = survey_.title;
        s.crs_name = survey_.crs_name;
        s.with_terrain = terrain_ != nullptr;
        find_start();
        walk();
        contacts();
        if (options_.all) marks();
        s.contacts = trip_.contacts.size();
        s.conflicts = trip_.conflicts.size();
        s.disputed = trip_.disputed.size();
        degrees();
        return std::move(trip_);
    }

private:
    [[noreturn]] void refuse_start(const std::string& message, const std::string& remedy) const {
        throw Error({.source = "--from", .layer = {}, .feature = {}, .field = {}},
                    "'" + options_.from + "': " + message, remedy);
    }

    void find_start() {
        if (options_.from.empty()) return;
        FieldSummary& s = trip_.summary;
        for (const model::Stop& stop : survey_.stops) {
            if (stop.id != options_.from) continue;
            s.start = stop.position;
            s.start_read = "stop " + stop.id;
            return;
        }
        const Parsed<field::WrittenPlace> read = field::read_place(options_.from);
        if (!read) refuse_start("no stop has this name, and as a place: " + read.message, read.remedy);
        Point place{read.value->x, read.value->y};
        s.start_read = read.message;
        if (read.value->kind == field::WrittenPlace::Kind::grid) {
            s.start_read += " in " + survey_.crs_name;
        } else {
            const geo::Crs from(read.value->kind == field::WrittenPlace::Kind::degrees
                                    ? std::string("EPSG:4326")
                                    : "EPSG:" + std::to_string((read.value->north ? 32600 : 32700) + read.value->zone));
            const std::vector<Point> sample{place};
            const geo::Transformation to(from, geo::Crs(survey_.crs_wkt), sample,
                                         {.allow_ballpark = survey_.settings.allow_ballpark, .source = "--from"});
            std::vector<Point> moved{place};
            if (to.apply(moved).front() == 0)
                refuse_start(read.message + ", which is outside the area in which " + survey_.crs_name + " holds",
                             "Correct it.");
            place = moved.front();
        }
        double nearest = 1e300;
        for (const model::Stop& stop : survey_.stops) nearest = std::min(nearest, distance(stop.position, place));
        if (nearest > farthest_start_m) {
            refuse_start(s.start_read + ", which is " + std::to_string(std::llround(nearest / 1000)) +
                             " km from the nearest stop of the survey",
                         "Correct it, or name a stop of the survey.");
        }
        s.start = place;
    }

    void leave_out(std::size_t index, std::string reason) {
        trip_.summary.left_out.push_back({index + 1, r_.next_stops[index].place, std::move(reason)});
    }

    void walk() {
        FieldSummary& s = trip_.summary;
        if (r_.next_stops.empty()) {
            s.nothing = survey_.settings.suggested_stops(survey_.stops.size()) == 0
                            ? "There is no walk: for so many stops, or by the settings, no next stops are looked for. "
                              "Set settings.next_stops."
                            : "Nothing here is worth a walk: no stop is expected to correct the map.";
            return;
        }
        std::vector<std::size_t> order(r_.next_stops.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(),
                         [&](std::size_t a, std::size_t b) { return r_.next_stops[a].walk < r_.next_stops[b].walk; });
        std::vector<Point> places;
        std::vector<double> gains;
        for (const infer::NextStop& next : r_.next_stops) {
            places.push_back(next.place);
            gains.push_back(next.gain_ha);
        }
        std::erase_if(order, [&](std::size_t i) {
            if (terrain_ == nullptr) return false;
            const std::optional<geo::Surface> surface = terrain_->surface(places[i], terrain_->hillslope_m());
            if (!surface || surface->slope_deg <= steepest_stop_deg ||
                distance_to_lines(places[i], survey_.tracks) <= on_track_m)
                return false;
            leave_out(i, "the land slopes by " + std::to_string(std::lround(surface->slope_deg)) +
                             " degrees, and no track leads there");
            return true;
        });
        const geo::WaysRound ways(survey_.no_go);
        const WalkPlan plan =
            plan_walk(places, gains, order, {.terrain = terrain_, .ways = &ways},
                      {.from = s.start, .hours = options_.hours, .stop_minutes = options_.stop_minutes});
        for (const std::size_t i : plan.too_far) leave_out(i, "the day is too short");
        std::stable_sort(s.left_out.begin(), s.left_out.end(),
                         [](const auto& a, const auto& b) { return a.rank < b.rank; });
        s.walk_m = plan.length_m;
        s.ascent_m = plan.ascent_m;
        s.walk_minutes = plan.walk_minutes;
        s.stop_minutes = options_.stop_minutes * static_cast<double>(plan.order.size());
        for (std::size_t k = 0; k < plan.order.size(); ++k) {
            const infer::NextStop& next = r_.next_stops[plan.order[k]];
            model::UnitIndex a = next.unit_a, b = next.unit_b;
            FieldStop stop;
            stop.name = short_name(two_digits(k + 1), survey_, a, b);
            stop.rank = plan.order[k] + 1;
            stop.place = next.place;
            if (terrain_ != nullptr) stop.height_m = terrain_->height(next.place);
            stop.gain_ha = next.gain_ha;
            stop.purpose = next.purpose;
            if (a != model::no_unit && b != model::no_unit)
                stop.look_for = look_for(survey_, summary_of(a), summary_of(b));
            stop.leg_m = plan.legs[k].length_m;
            stop.leg_ascent_m = plan.legs[k].ascent_m;
            stop.leg_minutes = plan.legs[k].minutes;
            stop.leg_crosses_no_go = plan.legs[k].crosses_no_go;
            stop.leg_detour_m = plan.legs[k].length_m - plan.legs[k].straight_m;
            stop.leg_corners = corners_of(plan.legs[k]);
            s.stops.push_back(std::move(stop));
            if (next.contact) wanted_.push_back(*next.contact);
        }
        if (s.start && !s.stops.empty()) {
            s.last_leg_crosses_no_go = plan.legs.back().crosses_no_go;
            s.last_leg_detour_m = plan.legs.back().length_m - plan.legs.back().straight_m;
            s.last_leg_corners = corners_of(plan.legs.back());
        }
        if (s.stops.empty())
            s.nothing =
                "No stop fits into this walk: " + counted(s.left_out.size(), "place is", "places are") + " left out.";
    }

    static Line corners_of(const Leg& leg) {
        return leg.way.size() < 3 ? Line{} : Line(leg.way.begin() + 1, leg.way.end() - 1);
    }

    const infer::UnitSummary& summary_of(model::UnitIndex unit) const {
        return *std::find_if(r_.units.begin(), r_.units.end(),
                             [&](const infer::UnitSummary& u) { return u.unit == unit; });
    }

    /// Those of the walk's stops first, then those in doubt, most evidence against them first.
    void contacts() {
        std::set<std::size_t> taken;
        std::vector<std::size_t> chosen;
        for (const std::size_t i : wanted_)
            if (taken.insert(i).second) chosen.push_back(i);
        std::vector<std::size_t> doubtful;
        for (std::size_t i = 0; i < map_.contacts().size(); ++i) {
            const infer::Review review = review_of(r_.relocation, i);
            if ((review == infer::Review::shift || review == infer::Review::doubtful) && !taken.contains(i))
                doubtful.push_back(i);
        }
        std::stable_sort(doubtful.begin(), doubtful.end(), [&](std::size_t a, std::size_t b) {
            return r_.fit.contacts[a].log10_odds_against > r_.fit.contacts[b].log10_odds_against;
        });
        for (const std::size_t i : doubtful) {
            if (!options_.all && chosen.size() >= max_field_contacts)
                ++trip_.summary.contacts_not_written;
            else
                chosen.push_back(i);
        }
        for (const std::size_t i : chosen) {
            const geo::Contact& contact = map_.contacts()[i];
            const infer::RelocatedContact& relocated = r_.relocation.contacts[i];
            const std::string number = std::to_string(i + 1);
            FieldContact c;
            c.contact = i;
            c.name = short_name("C" + number, survey_, contact.unit_a, contact.unit_b);
            c.zone_name = short_name("Z" + number, survey_, contact.unit_a, contact.unit_b);
            c.drafted_name = short_name("D" + number, survey_, contact.unit_a, contact.unit_b);
            const Line& line = infer::relocated_line(r_.relocation, map_, i);
            c.about = "Contact of " + code(contact.unit_a) + " with " + code(contact.unit_b) +
                      (r_.first ? " by the first map, doubtful within " + metres(relocated.location_confidence_m) + '.'
                                : ", located to ± " + metres(relocated.location_confidence_m) + " (90 %). " +
                                      std::string(description(review_of(r_.relocation, i))) + '.');
            c.line = simplified(line);
            if (!relocated.line.empty()) c.drafted = simplified(contact.line);
            for (Polygon& part : geo::zone_about(line, relocated.half_widths_m)) {
                Polygon simple{simplified_ring(part.shell), {}};
                for (const Ring& hole : part.holes) simple.holes.push_back(simplified_ring(hole));
                c.zone.push_back(std::move(simple));
            }
            trip_.contacts.push_back(std::move(c));
        }
    }

    void marks() {
        for (std::size_t i = 0; i < r_.fit.stops.size(); ++i) {
            if (r_.fit.stops[i].verdict != infer::Verdict::conflicts) continue;
            trip_.conflicts.push_back({("X " + plain_letters(survey_.stops[i].id)).substr(0, longest_name),
                                       "Stop " + survey_.stops[i].id + " conflicts with the draft. " + r_.fit.reason(i),
                                       survey_.stops[i].position,
                                       {}});
        }
        for (std::size_t i = 0; i < r_.disputed.size(); ++i) {
            const infer::DisputedArea& d = r_.disputed[i];
            trip_.disputed.push_back({short_name("U" + std::to_string(i + 1), survey_, d.like, model::no_unit),
                                      d.reason, d.middle, d.ground});
        }
    }

    void degrees() {
        FieldSummary& s = trip_.summary;
        Box box;
        for (const FieldStop& stop : s.stops) {
            box.add(stop.place);
            for (const Point corner : stop.leg_corners) box.add(corner);
        }
        for (const Point corner : s.last_leg_corners) box.add(corner);
        if (s.start) box.add(*s.start);
        if (box.empty()) return;
        const ToDegrees to(survey_, box);
        for (FieldStop& stop : s.stops) {
            stop.degrees = to(stop.place);
            stop.leg_corners_degrees = to(stop.leg_corners);
        }
        s.last_leg_corners_degrees = to(s.last_leg_corners);
        if (s.start) s.start_degrees = to(*s.start);
    }

    std::string code(model::UnitIndex unit) const { return survey_.units[static_cast<std::size_t>(unit)].code; }

    const JudgedSurvey& r_;
    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const geo::Terrain* terrain_;
    const FieldOptions& options_;
    std::vector<std::size_t> wanted_;  ///< contacts of the walk's stops
    FieldTrip trip_;
};

}  // namespace

FieldTrip plan_trip(const JudgedSurvey& judged, const geo::Terrain* terrain, const FieldOptions& options) {
    return Planner(judged, terrain, options).plan();
}

std::optional<geo::Terrain> terrain_of_trip(const io::SurveyFile& file, const JudgedSurvey& judged, unsigned threads) {
    if (!file.terrain || judged.next_stops.empty()) return std::nullopt;
    constexpr double margin_m = 2000;  // a start may lie beyond the stops
    Box wanted;
    for (const infer::NextStop& next : judged.next_stops) wanted.add(next.place);
    wanted.add(Point{wanted.min_x - margin_m, wanted.min_y - margin_m});
    wanted.add(Point{wanted.max_x + margin_m, wanted.max_y + margin_m});
    ProblemLog told_before;
    return std::move(
        io::read_terrain(file, *file.terrain, judged.data->survey.crs_wkt, wanted, threads, told_before).terrain);
}

struct ToDegrees::State {
    geo::Transformation transformation;
};

ToDegrees::ToDegrees(const model::Survey& survey, const Box& box) {
    constexpr int steps = 4;
    std::vector<Point> sample;
    for (int i = 0; i <= steps; ++i)
        for (int j = 0; j <= steps; ++j)
            sample.push_back({box.min_x + box.width() * i / steps, box.min_y + box.height() * j / steps});
    state_.reset(
        new State{geo::Transformation(geo::Crs(survey.crs_wkt), geo::Crs("EPSG:4326"), sample,
                                      {.allow_ballpark = survey.settings.allow_ballpark, .source = "field files"})});
}

ToDegrees::~ToDegrees() = default;

Line ToDegrees::operator()(const Line& line) const {
    Line moved = line;
    const std::vector<std::uint8_t> good = state_->transformation.apply(moved);
    Line result;
    for (std::size_t i = 0; i < moved.size(); ++i) {
        if (good[i] == 0) continue;
        result.push_back({std::round(moved[i].x * 1e7) / 1e7, std::round(moved[i].y * 1e7) / 1e7});
    }
    return result;
}

Point ToDegrees::operator()(Point place) const {
    const Line moved = (*this)(Line{place});
    return moved.empty() ? Point{} : moved.front();
}

}  // namespace subcrop::publish
