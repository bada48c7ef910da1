#include "subcrop/infer/proposals.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/together.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::infer {

namespace {

/// Approximate number of places at which the probability of a proposal is sampled.
constexpr double places_asked = 400;
/// A stop that fits a unit with this probability gets a minimal area around it: see infer/revised_map.hpp.
constexpr double sure_stop = 0.9;
/// Observed bedrock with less probability than this becomes a 'second look'.
constexpr double min_observed = 0.5;

/// Smallest distance between two boxes.
double apart(const Box& a, const Box& b) {
    const double dx = std::max({0.0, a.min_x - b.max_x, b.min_x - a.max_x}),
                 dy = std::max({0.0, a.min_y - b.max_y, b.min_y - a.max_y});
    return std::hypot(dx, dy);
}

class Proposing {
public:
    Proposing(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
              const RevisedMap& revised)
        : survey_(survey), map_(map), fit_(fit), relocation_(relocation) {
        const bool redrawn = std::any_of(revised.units.begin(), revised.units.end(), [](const RevisedUnit& unit) {
            return unit.source != RevisedSource::as_drawn;
        });
        if (redrawn) result_.changes = geo::MapChanges(map.polygons(), polygons_of(revised, map));
        result_.reach_m = std::max(2 * fit.answer.contact_sd_m(), fit.answer.stop_distance_m());
    }

    Proposals take(unsigned threads) {
        propose_areas();
        propose_doubtful_contacts();
        propose_second_looks();
        std::vector<Proposal>& list = result_.list;
        parallel_blocks(list.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t i = begin; i < end; ++i) {
                measure(list[i]);
                find_stops(list[i]);
            }
        });
        std::erase_if(list, [](const Proposal& one) { return !one.areas.empty() && !one.stop && one.gain_m2 <= 0; });
        std::stable_sort(list.begin(), list.end(),
                         [](const Proposal& a, const Proposal& b) { return a.gain_m2 > b.gain_m2; });
        return std::move(result_);
    }

private:
    void propose_areas() {
        const std::vector<geo::ChangedArea>& areas = result_.changes.areas();
        if (areas.empty()) return;
        std::vector<std::optional<std::size_t>> contact(areas.size());
        if (relocation_.moved) {
            ProblemLog unheard;
            const geo::UnitMap moved(relocation_.units, survey_.units.size(), {}, unheard);
            const auto lines = contacts_by_units();
            for (std::size_t a = 0; a < areas.size(); ++a)
                if (moved.unit_at(areas[a].inside) == areas[a].to) contact[a] = nearest_contact(lines, areas[a]);
        }
        Together groups(areas.size());
        std::map<std::size_t, std::size_t> first_of_contact;
        for (std::size_t a = 0; a < areas.size(); ++a)
            if (contact[a]) groups.join(first_of_contact.try_emplace(*contact[a], a).first->second, a);
        for (const geo::AreasBeside& pair : result_.changes.beside())
            if (!contact[pair.first] && !contact[pair.second] && areas[pair.first].to == areas[pair.second].to)
                groups.join(pair.first, pair.second);
        join_crumbs(groups);
        std::map<std::size_t, std::vector<std::uint32_t>> members;
        for (std::uint32_t a = 0; a < areas.size(); ++a) members[groups.name(a)].push_back(a);
        for (auto& [name, group] : members) {
            const std::uint32_t largest = *std::max_element(
                group.begin(), group.end(), [&](auto a, auto b) { return areas[a].area_m2 < areas[b].area_m2; });
            Proposal proposal;
            proposal.kind = contact[largest] ? ProposalKind::move_contact : ProposalKind::redraw_area;
            proposal.contact = contact[largest];
            proposal.from = areas[largest].from;
            proposal.to = areas[largest].to;
            if (proposal.contact && proposal.to < proposal.from) std::swap(proposal.from, proposal.to);
            proposal.middle = areas[largest].inside;
            for (const std::uint32_t a : group) {
                proposal.area_m2 += areas[a].area_m2;
                proposal.ground.push_back(areas[a].ground);
            }
            if (proposal.area_m2 < crumb_m2) continue;
            proposal.areas = std::move(group);
            result_.list.push_back(std::move(proposal));
        }
    }

    using UnitPair = std::pair<model::UnitIndex, model::UnitIndex>;
    struct ContactLine {
        std::size_t contact;
        Box box;
    };
    std::map<UnitPair, std::vector<ContactLine>> contacts_by_units() const {
        std::map<UnitPair, std::vector<ContactLine>> result;
        for (std::size_t i = 0; i < map_.contacts().size(); ++i) {
            const geo::Contact& contact = map_.contacts()[i];
            result[{contact.unit_a, contact.unit_b}].push_back({i, box_of(contact.line)});
        }
        return result;
    }

    std::optional<std::size_t> nearest_contact(const std::map<UnitPair, std::vector<ContactLine>>& lines,
                                               const geo::ChangedArea& area) const {
        const auto found = lines.find({std::min(area.from, area.to), std::max(area.from, area.to)});
        if (found == lines.end()) return std::nullopt;
        const Box own = box_of(area.ground.shell);
        std::optional<std::size_t> best;
        double nearest = std::numeric_limits<double>::infinity();
        for (const ContactLine& line : found->second) {
            if (apart(line.box, own) > 0) continue;  // the strip lies along its contact
            const double off = nearest_on(map_.contacts()[line.contact].line, area.inside).off_m;
            if (off < nearest) nearest = off, best = line.contact;
        }
        return best;
    }

    /// A group smaller than a tenth of the squared error of contacts joins the group with which it shares most
    /// boundary. So a corner where three contacts meet belongs to one of them.
    void join_crumbs(Together& groups) const {
        const auto& areas = result_.changes.areas();
        std::map<std::size_t, double> size;
        for (std::size_t a = 0; a < areas.size(); ++a) size[groups.name(a)] += areas[a].area_m2;
        const double error_m = fit_.answer.contact_sd_m(), least = std::max(crumb_m2, 0.1 * error_m * error_m);
        std::map<std::size_t, std::pair<double, std::size_t>> beside;
        for (const geo::AreasBeside& pair : result_.changes.beside()) {
            const std::size_t a = groups.name(pair.first), b = groups.name(pair.second);
            if (a == b) continue;
            for (const auto& [own, other] : {std::pair{a, b}, std::pair{b, a}}) {
                if (size[own] >= least || size[other] < size[own]) continue;
                auto& best = beside[own];
                if (pair.length_m > best.first) best = {pair.length_m, other};
            }
        }
        for (const auto& [own, best] : beside) groups.join(own, best.second);
    }

    void propose_doubtful_contacts() {
        for (std::size_t i = 0; i < relocation_.contacts.size(); ++i) {
            const RelocatedContact& contact = relocation_.contacts[i];
            if (contact.existence != Confidence::questionable || contact.disputed) continue;
            const Line& line = relocated_line(relocation_, map_, i);
            if (line.size() < 2) continue;
            Proposal proposal;
            proposal.kind = ProposalKind::doubtful_contact;
            proposal.from = map_.contacts()[i].unit_a;
            proposal.to = map_.contacts()[i].unit_b;
            proposal.contact = i;
            const double width = std::max(contact.location_confidence_m, 1.0);
            proposal.ground = geo::zone_about(line, {&width, 1});
            proposal.middle = line[line.size() / 2];
            result_.list.push_back(std::move(proposal));
        }
    }

    void propose_second_looks() {
        for (std::size_t s = 0; s < survey_.stops.size(); ++s) {
            const model::Stop& stop = survey_.stops[s];
            const StopFit& fit = fit_.stops[s];
            const bool off_map = fit.verdict == Verdict::off_map;
            const bool odd_rock = stop.unit_seen != model::no_unit && fit.fitted_unit != model::no_unit &&
                                  fit.fitted_unit != stop.unit_seen && fit.p_fitted > min_observed;
            if (!off_map && !odd_rock) continue;
            Proposal proposal;
            proposal.kind = ProposalKind::second_look;
            proposal.from = fit.mapped_unit;
            proposal.to = stop.unit_seen;
            proposal.stop = s;
            proposal.middle = stop.position;
            if (odd_rock) proposal.probability = fit.p_fitted;
            proposal.ground = {geo::circle(stop.position, std::max(10.0, 2 * stop.position_sd_m))};
            result_.list.push_back(std::move(proposal));
        }
    }

    /// Mean probabilities over the area that changes.
    void measure(Proposal& proposal) const {
        if (proposal.areas.empty()) return;
        const double step = std::sqrt(proposal.area_m2 / places_asked);
        std::vector<float> p(survey_.units.size());
        double proposed = 0, gained = 0, asked = 0;
        for (const std::uint32_t a : proposal.areas) {
            const geo::ChangedArea& area = result_.changes.areas()[a];
            double to = 0, from = 0;
            std::vector<Point> places = places_in(area.ground, step);
            if (places.empty()) places.push_back(area.inside);
            for (const Point place : places) {
                fit_.answer.at(place, p);
                to += p[static_cast<std::size_t>(area.to)];
                from += p[static_cast<std::size_t>(area.from)];
            }
            const double share = area.area_m2 / static_cast<double>(places.size());
            proposed += to * share;
            gained += (to - from) * share;
            asked += area.area_m2;
        }
        proposal.probability = proposed / asked;
        proposal.gain_m2 = gained;
        if (gained > 0 || proposal.kind != ProposalKind::redraw_area) return;
        // Drawn around a single sure stop; the extent of its unit is unknown.
        for (std::uint32_t s = 0; s < survey_.stops.size(); ++s) {
            const StopFit& fit = fit_.stops[s];
            if (fit.fitted_unit != proposal.to || fit.p_fitted <= sure_stop) continue;
            if (distance_to(proposal.ground, survey_.stops[s].position) > 0) continue;
            proposal.stop = s;
            proposal.probability = fit.p_fitted;
            proposal.gain_m2 = 0;
            return;
        }
    }

    void find_stops(Proposal& proposal) const {
        const Box box = box_of(proposal.ground);
        proposal.nearest_stop_m = std::numeric_limits<double>::infinity();
        double nearest_squared = proposal.nearest_stop_m;
        for (std::uint32_t s = 0; s < survey_.stops.size(); ++s) {
            if (proposal.stop == s && proposal.areas.empty()) continue;
            const Point place = survey_.stops[s].position;
            const double least = apart(box, {place.x, place.y, place.x, place.y});
            if (least > result_.reach_m && least * least > nearest_squared) continue;
            const double off = distance_to(proposal.ground, place);
            if (off <= result_.reach_m) proposal.stops.push_back(s);
            if (off < proposal.nearest_stop_m) {
                proposal.nearest_stop_m = off;
                nearest_squared = off * off;
            }
        }
    }

    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const Fit& fit_;
    const Relocation& relocation_;
    Proposals result_;
};

}  // namespace

std::string_view to_string(ProposalKind kind) {
    switch (kind) {
        case ProposalKind::move_contact:
            return "move_contact";
        case ProposalKind::redraw_area:
            return "redraw_area";
        case ProposalKind::doubtful_contact:
            return "doubtful_contact";
        case ProposalKind::second_look:
            return "second_look";
    }
    return {};
}

std::string_view description(ProposalKind kind) {
    switch (kind) {
        case ProposalKind::move_contact:
            return "Move a contact: the area between the old and the new line goes to the unit across";
        case ProposalKind::redraw_area:
            return "Redraw an area as another unit";
        case ProposalKind::doubtful_contact:
            return "A contact that may not exist: the same unit seems to lie on both sides";
        case ProposalKind::second_look:
            return "A stop whose notes deserve a second look; nothing in the map changes";
    }
    return {};
}

double distance_to(const MultiPolygon& ground, Point place) {
    double nearest = std::numeric_limits<double>::infinity();
    for (const Polygon& polygon : ground) {
        if (inside(polygon, place)) return 0;
        nearest = std::min(nearest, nearest_on(polygon.shell, place).off_m);
        for (const Ring& hole : polygon.holes) nearest = std::min(nearest, nearest_on(hole, place).off_m);
    }
    return nearest;
}

std::vector<std::uint32_t> stops_that_bear(const model::Survey& survey, const MultiPolygon& ground, double reach_m) {
    std::vector<std::uint32_t> result;
    const Box box = box_of(ground);
    for (std::uint32_t s = 0; s < survey.stops.size(); ++s) {
        const Point place = survey.stops[s].position;
        if (apart(box, {place.x, place.y, place.x, place.y}) > reach_m) continue;
        if (distance_to(ground, place) <= reach_m) result.push_back(s);
    }
    return result;
}

Proposals propose(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Relocation& relocation,
                  const RevisedMap& revised, unsigned threads) {
    if (fit.answer.empty()) return {};
    return Proposing(survey, map, fit, relocation, revised).take(threads);
}

}  // namespace subcrop::infer
