#include "subcrop/infer/next_stops.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>
#include <tuple>

#include "infer/answer/dispute_edges.hpp"
#include "infer/description/confusion.hpp"
#include "infer/planning/allowed_places.hpp"
#include "infer/planning/contact_knowledge.hpp"
#include "infer/planning/walk.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// A stop represents the area within this share of the reach. Bodies that a draft leaves out are smaller than those it
/// has. Common practice, no source.
constexpr double speaks_within = 0.5;
/// An area is without stops if none is within this many reaches.
constexpr double without_within = 1.5;
/// Number of squares along each axis, to look for areas without stops.
constexpr double max_squares = 400;
/// Gains in metres are for a kilometre of contact.
constexpr double per_metres = 1000;
/// A visit with a smaller gain is not worth the walk. A visit closer than this to a stop, in standard errors of a
/// contact, would show nothing new.
constexpr double told_apart_from = 0.5;
constexpr double min_gain_m = 0.05;

/// A square of the map that no stop represents.
struct Bare {
    Point place;
    double gain_m2 = 0;
    model::UnitIndex unit = model::no_unit;
};

/// The share of the area within a radius that is on the map.
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

std::vector<Bare> ground_without_stops(const model::Survey& survey, const geo::UnitMap& map,
                                       const ContactKnowledge& knowledge, const AllowedPlaces& allowed) {
    Box box = map.extent();
    std::vector<Bare> bare;
    const double side = std::max({knowledge.reach_m / 2, box.width() / max_squares, box.height() / max_squares});
    if (box.empty() || side <= 0) return bare;
    const double far = std::max(without_within * knowledge.reach_m, side);
    const auto columns = static_cast<std::ptrdiff_t>(box.width() / side) + 1,
               rows = static_cast<std::ptrdiff_t>(box.height() / side) + 1;
    std::vector<std::uint8_t> spoken_for(static_cast<std::size_t>(columns * rows), 0);
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
                    spoken_for[static_cast<std::size_t>(r * columns + c)] = 1;
    }
    // A visit is weighted by how well the unit is distinguished from the others, on average.
    const std::size_t units = survey.units.size();
    std::vector<double> told(units, 0.0);
    for (std::size_t u = 0; u < units; ++u) {
        for (std::size_t v = 0; v < units; ++v)
            if (u != v)
                told[u] += knowledge.between(static_cast<model::UnitIndex>(u), static_cast<model::UnitIndex>(v)).mean /
                           static_cast<double>(units - 1);
    }
    // The share of contacts that is right is also used between contacts.
    const double wrong = survey.settings.draft_error_share * (1 - knowledge.right_share);
    const double radius = speaks_within * knowledge.reach_m, ground = std::numbers::pi * radius * radius;
    for (std::ptrdiff_t r = 0; r < rows; ++r) {
        for (std::ptrdiff_t c = 0; c < columns; ++c) {
            const Point place = middle(c, r);
            const model::UnitIndex unit =
                spoken_for[static_cast<std::size_t>(r * columns + c)] ? model::no_unit : map.unit_at(place);
            if (unit == model::no_unit || !allowed(place)) continue;
            if (map.nearest_contact(place, radius)) continue;  // there the contact itself is the better place to look
            bare.push_back({place,
                            wrong * told[static_cast<std::size_t>(unit)] * ground * share_on_map(map, place, radius),
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

class Planner {
public:
    Planner(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
            const NextStopOptions& options, unsigned threads)
        : survey_(survey),
          map_(map),
          fit_(fit),
          options_(options),
          allowed_(survey, map),
          knowledge_(survey, map, fit, relocation, threads, options.reach_m, options.right_share),
          known_(known_stops(*fit.reckoning)),
          dug_(survey, options.position_sd_m, told_apart_from * fit.contact_sd_m) {
        look_for_disputed();
        best_.resize(knowledge_.contacts.size());
        parallel_blocks(best_.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t k = begin; k < end; ++k) best_[k] = best_of(k);
        });
        bare_ = ground_without_stops(survey, map, knowledge_, allowed_);
    }

    std::vector<NextStop> plan() {
        std::vector<Visit> visits = choose();
        for (auto& [contact, process] : before_) knowledge_.contacts[contact].process = process;
        std::vector<NextStop> stops;
        while (!visits.empty()) {
            const auto best = std::max_element(visits.begin(), visits.end(),
                                               [&](const Visit& a, const Visit& b) { return gain_of(a) < gain_of(b); });
            stops.push_back(best->bare ? describe_ground(*best->bare) : describe_contact(best->contact, best->node));
            visits.erase(best);
        }
        number_walk(stops);
        return stops;
    }

private:
    struct Best {
        std::size_t node = 0;
        double gain_m2 = 0;
    };
    struct Visit {
        std::size_t contact = 0, node = 0;  ///< of `knowledge_`
        std::optional<Bare> bare;           ///< or an area without stops
    };

    /// Chooses visits one by one. Visits to units that were chosen before count less.
    std::vector<Visit> choose() {
        std::vector<Visit> visits;
        std::map<std::pair<model::UnitIndex, model::UnitIndex>, double>
            worth;  // by the two units; for an area without stops its unit twice
        const auto worth_of = [&](model::UnitIndex a, model::UnitIndex b) -> double& {
            return worth.try_emplace(std::minmax(a, b), 1.0).first->second;
        };
        const auto worth_of_contact = [&](std::size_t k) -> double& {
            return worth_of(knowledge_.contacts[k].left, knowledge_.contacts[k].right);
        };
        while (visits.size() < options_.count) {
            Visit visit;
            double most = 0, gain = 0;
            for (std::size_t k = 0; k < best_.size(); ++k) {
                if (best_[k].gain_m2 < min_gain_m * per_metres || best_[k].gain_m2 * worth_of_contact(k) <= most)
                    continue;
                most = best_[k].gain_m2 * worth_of_contact(k);
                gain = best_[k].gain_m2;
                visit = {k, best_[k].node, std::nullopt};
            }
            for (const Bare& square : bare_) {
                if (square.gain_m2 < min_gain_m * per_metres ||
                    square.gain_m2 * worth_of(square.unit, square.unit) <= most)
                    continue;
                most = square.gain_m2 * worth_of(square.unit, square.unit);
                gain = square.gain_m2;
                visit.bare = square;
            }
            if (gain <= 0) break;
            if (visit.bare) {
                worth_of(visit.bare->unit, visit.bare->unit) *= options_.again;
                const double far = without_within * knowledge_.reach_m;
                std::erase_if(bare_,
                              [&](const Bare& other) { return distance(other.place, visit.bare->place) <= far; });
            } else {
                worth_of_contact(visit.contact) *= options_.again;
                ContactKnowledge::Known& known = knowledge_.contacts[visit.contact];
                before_.try_emplace(visit.contact, known.process);
                known.process.plan(visit.node, options_.position_sd_m, discernment(known));
                best_[visit.contact] = best_of(visit.contact);
            }
            visits.push_back(visit);
            taken_.push_back(visit.bare ? visit.bare->place
                                        : knowledge_.contacts[visit.contact].process.place(visit.node));
            for (std::size_t k = 0; k < best_.size(); ++k)
                if (best_[k].gain_m2 > 0 && !free(knowledge_.contacts[k].process.place(best_[k].node)))
                    best_[k] = best_of(k);
        }
        return visits;
    }

    /// Two visits closer than the stated zone of a contact is wide would show the same.
    bool free(Point place) const {
        return !dug_.near(place) && std::none_of(taken_.begin(), taken_.end(), [&](Point other) {
            return distance(other, place) < 2 * fit_.contact_sd_m;
        });
    }

    double gain_of(const Visit& visit) const {
        return visit.bare ? visit.bare->gain_m2 : gain_m2(visit.contact, visit.node);
    }

    /// A contact that probably does not exist is not worth a visit.
    double gain_m2(std::size_t k, std::size_t node) const {
        const ContactKnowledge::Known& known = knowledge_.contacts[k];
        const double exists = exists_.empty() || exists_[k].empty() ? 1 : exists_[k][node];
        return exists * known.process.gain_m2(node, options_.position_sd_m, discernment(known));
    }

    /// If the area on one side of a contact is disputed and looks like the unit across, the contact exists only if the
    /// dispute is wrong.
    void look_for_disputed() {
        if (fit_.clusters.empty()) return;
        exists_.resize(knowledge_.contacts.size());
        for (const StopCluster& patch : fit_.clusters) {
            for (std::size_t k = 0; k < knowledge_.contacts.size(); ++k) {
                const ContactKnowledge::Known& known = knowledge_.contacts[k];
                if (!divides(patch, known.left, known.right)) continue;
                const std::vector<ContactProcess::Node>& nodes = known.process.nodes();
                if (exists_[k].empty()) exists_[k].assign(nodes.size(), 1.0);
                for (std::size_t i = 0; i < nodes.size(); ++i) {
                    if (reaches(survey_, patch, nodes[i].place))
                        exists_[k][i] = std::min(exists_[k][i], 1 - patch.probability);
                }
            }
        }
    }

    double discernment(const ContactKnowledge::Known& known) const {
        return knowledge_.between(known.left, known.right).mean;
    }

    Best best_of(std::size_t k) const {
        const ContactKnowledge::Known& known = knowledge_.contacts[k];
        std::vector<Best> all;
        for (std::size_t i = 0; i < known.process.nodes().size(); ++i) all.push_back({i, gain_m2(k, i)});
        std::stable_sort(all.begin(), all.end(), [](const Best& a, const Best& b) { return a.gain_m2 > b.gain_m2; });
        for (const Best& one : all)
            if (free(known.process.place(one.node)) && allowed_(known.process.place(one.node))) return one;
        return {};
    }

    NextStop describe_contact(std::size_t k, std::size_t node) {
        ContactKnowledge::Known& known = knowledge_.contacts[k];
        NextStop stop;
        stop.place = known.process.place(node);
        stop.gain_m = gain_m2(k, node) / per_metres;
        stop.contact = known.contact;
        stop.unit_a = map_.contacts()[known.contact].unit_a;
        stop.unit_b = map_.contacts()[known.contact].unit_b;
        stop.half_width_m = half_width_in_sd * known.process.sd_m(node);
        known.process.plan(node, options_.position_sd_m, discernment(known));
        stop.half_width_after_m = half_width_in_sd * known.process.sd_m(node);
        const geo::Contact& contact = map_.contacts()[known.contact];
        stop.purpose = "Contact of " + named(contact.unit_a) + " with " + named(contact.unit_b) + ", located to ± " +
                       metres(stop.half_width_m) + " (90 %): see which of the two lies below" +
                       told_apart(contact.unit_a, contact.unit_b) + '.';
        return stop;
    }

    NextStop describe_ground(const Bare& square) const {
        NextStop stop;
        stop.place = square.place;
        stop.gain_m = square.gain_m2 / per_metres;
        stop.purpose = "No stop within " + metres(without_within * knowledge_.reach_m) + ": see whether " +
                       named(square.unit) + " lies here as drawn.";
        return stop;
    }

    /// "Os (Orrin sandstone)".
    std::string named(model::UnitIndex unit) const {
        const model::LegendUnit& entry = survey_.units[static_cast<std::size_t>(unit)];
        return entry.name.empty() || entry.name == entry.code ? entry.code : entry.code + " (" + entry.name + ')';
    }
    static std::string metres(double m) { return std::to_string(std::lround(m)) + " m"; }

    std::string told_apart(model::UnitIndex a, model::UnitIndex b) const {
        const Discernment& pair = knowledge_.between(a, b);
        if (pair.stops == 0) return {};
        const std::string channel = best_channel(*fit_.reckoning, known_, a, b).name;
        return ". So far the notes named the right one of the two at " + std::to_string(pair.right) + " of " +
               counted(pair.stops, "stop", "stops") + (channel.empty() ? "" : ", best by " + channel);
    }

    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const Fit& fit_;
    NextStopOptions options_;
    AllowedPlaces allowed_;
    ContactKnowledge knowledge_;
    std::vector<std::size_t> known_;
    std::vector<std::vector<double>>
        exists_;  ///< for each contact the probability that it exists at each node; empty: not disputed
    std::vector<Best> best_;
    std::vector<Bare> bare_;
    std::vector<Point> taken_;  ///< places of the visits chosen so far
    DugPlaces dug_;
    std::map<std::size_t, ContactProcess> before_;  ///< contacts as they were before any visit was planned
};

}  // namespace

std::vector<NextStop> suggest_next_stops(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                         const Relocation& relocation, const NextStopOptions& options,
                                         unsigned threads) {
    if (options.count == 0 || survey.units.size() < 2 || fit.without_draft) return {};
    return Planner(survey, map, fit, relocation, options, threads).plan();
}

}  // namespace subcrop::infer
