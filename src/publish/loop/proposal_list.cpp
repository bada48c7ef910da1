#include "publish/loop/proposal_list.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "publish/quantity_words.hpp"
#include "subcrop/core/counted.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/overlay.hpp"
#include "subcrop/geo/zone.hpp"

namespace subcrop::publish {

namespace {

using infer::Proposal;
using infer::ProposalKind;
using io::DecisionRow;

/// Two proposals are the same if they share at least this part of the smaller one's area.
constexpr double min_common = 0.25;
constexpr std::size_t names_in_a_note = 6;

char letter_of(const std::string& kind) {
    if (kind == to_string(ProposalKind::move_contact)) return 'M';
    if (kind == to_string(ProposalKind::redraw_area)) return 'A';
    if (kind == to_string(ProposalKind::doubtful_contact)) return 'C';
    return 'S';
}

std::string metres(double m) { return std::to_string(std::llround(m)); }

std::string place_words(Point p) { return metres(p.x) + " east, " + metres(p.y) + " north"; }

double area_of(const MultiPolygon& ground) {
    double sum = 0;
    for (const Polygon& polygon : ground) sum += geo::area_m2(polygon);
    return sum;
}

std::string listed_stops(const std::vector<std::string>& names) {
    std::string text = names.size() == 1 ? "stop " : "stops ";
    for (std::size_t i = 0; i < std::min(names.size(), names_in_a_note); ++i) text += (i > 0 ? ", " : "") + names[i];
    if (names.size() > names_in_a_note) text += " and " + std::to_string(names.size() - names_in_a_note) + " more";
    return text;
}

class Listing {
public:
    Listing(const model::Survey& survey, const geo::UnitMap& map, const infer::Relocation& relocation,
            const infer::Proposals& proposals, const KnownProposals& known)
        : survey_(survey), map_(map), relocation_(relocation), proposals_(proposals), known_(known) {}

    std::vector<ListedProposal> take() {
        std::vector<ListedProposal> list;
        for (std::size_t i = 0; i < proposals_.list.size(); ++i) list.push_back(shown(i));
        name(list);
        for (ListedProposal& one : list) decide(one);
        add_accepted_before(list);
        std::stable_sort(list.begin(), list.end(), [](const ListedProposal& a, const ListedProposal& b) {
            return std::tuple(rank(a), -a.gain_hectares) < std::tuple(rank(b), -b.gain_hectares);
        });
        return list;
    }

private:
    static int rank(const ListedProposal& one) {
        if (one.row.decision == "open") return 0;
        if (one.row.decision == "accepted") return 1;
        return one.row.decision == "later" ? 2 : 3;
    }

    std::string code(model::UnitIndex unit) const {
        return unit == model::no_unit ? std::string() : survey_.units[static_cast<std::size_t>(unit)].code;
    }

    ListedProposal shown(std::size_t index) const {
        const Proposal& p = proposals_.list[index];
        ListedProposal one;
        one.proposal = index;
        one.middle = p.middle;
        one.contact = p.contact;
        one.gain_hectares = p.gain_m2 / 1e4;
        if (std::isfinite(p.nearest_stop_m)) one.nearest_stop_m = p.nearest_stop_m;
        DecisionRow& row = one.row;
        row.kind = to_string(p.kind);
        row.ground = p.ground;
        row.probability = p.probability;
        if (!p.areas.empty()) row.hectares = p.area_m2 / 1e4;
        if (p.stop) row.stop = survey_.stops[*p.stop].id;
        if (p.kind != ProposalKind::second_look) row.units = code(p.from) + (p.contact ? " | " : " > ") + code(p.to);
        for (const std::uint32_t s : p.stops) row.stops.push_back(survey_.stops[s].id);
        for (const std::uint32_t a : p.areas) {
            const geo::ChangedArea& area = proposals_.changes.areas()[a];
            row.parts.push_back({code(area.from), code(area.to)});
        }
        row.what = what(p);
        return one;
    }

    std::string what(const Proposal& p) const {
        switch (p.kind) {
            case ProposalKind::redraw_area:
                if (p.stop)
                    return "Draw a small body of " + code(p.to) + " about stop " + survey_.stops[*p.stop].id +
                           ", which fits it; now drawn as " + code(p.from) + ". How far it reaches is not known.";
                return "Redraw " + hectares(p.area_m2) + " ha about " + place_words(p.middle) + " as " + code(p.to) +
                       "; now drawn as " + code(p.from) + ".";
            case ProposalKind::move_contact:
                return move_words(p);
            case ProposalKind::doubtful_contact:
                return "Check whether contact " + code(p.from) + " | " + code(p.to) + " about " +
                       place_words(p.middle) + " exists: the same unit seems to lie on both sides.";
            case ProposalKind::second_look:
                if (!p.probability)
                    return "Check the position of stop " + survey_.stops[*p.stop].id + ": it lies off the map.";
                return "Look at stop " + survey_.stops[*p.stop].id + " again: bedrock of " + code(p.to) +
                       " was noted, but its soil and the stops nearby fit another unit. Was it a loose block?";
        }
        return {};
    }

    std::string move_words(const Proposal& p) const {
        const std::string contact = "contact " + code(p.from) + " | " + code(p.to);
        const std::vector<infer::MovedStretch>& stretches = relocation_.contacts[*p.contact].stretches;
        if (stretches.empty())
            return "Move " + contact + " a little about " + place_words(p.middle) + ": " + hectares(p.area_m2) +
                   " ha change. The drawn line lies inside its 90 % zone.";
        const infer::MovedStretch& longest = *std::max_element(
            stretches.begin(), stretches.end(),
            [](const auto& a, const auto& b) { return a.length_m * a.shift_m < b.length_m * b.shift_m; });
        std::string text = "Move " + contact + " by " + metres(longest.shift_m) + " m" +
                           (longest.azimuth_deg ? " to the " + std::string(towards(*longest.azimuth_deg)) : "") +
                           " (± " + metres(infer::half_width_in_sd * longest.shift_sd_m) + " m, 90 %) along " +
                           metres(longest.length_m) + " m about " + place_words(longest.middle);
        if (stretches.size() > 1)
            text += ", and along " + counted(stretches.size() - 1, "more stretch", "more stretches");
        return text + ".";
    }

    /// Common part of the smaller area, for two proposals of the same kind and units.
    double common(const DecisionRow& a, const DecisionRow& b) const {
        if (a.kind != b.kind) return 0;
        if (!a.stop.empty() || !b.stop.empty()) return a.stop == b.stop ? 1 : 0;
        if (a.kind == to_string(ProposalKind::redraw_area) ? target(a) != target(b) : a.units != b.units) return 0;
        if (a.ground.empty() || b.ground.empty() || !meet(box_of(a.ground), box_of(b.ground))) return 0;
        const double least = std::min(area_of(a.ground), area_of(b.ground));
        return least > 0 ? area_of(geo::common_ground(a.ground, b.ground)) / least : 0;
    }
    static std::string target(const DecisionRow& row) {
        const std::size_t at = row.units.rfind(" > ");
        return at == std::string::npos ? row.units : row.units.substr(at + 3);
    }

    /// Old ids for the same proposals, those with most common area first; new ids for the rest.
    void name(std::vector<ListedProposal>& list) const {
        std::vector<const DecisionRow*> before;
        for (const DecisionRow& row : known_.decided) before.push_back(&row);
        std::set<std::string> decided;
        for (const DecisionRow& row : known_.decided) decided.insert(row.id);
        for (const DecisionRow& row : known_.earlier)
            if (!decided.contains(row.id)) before.push_back(&row);
        struct Match {
            double common;
            std::size_t now, then;
        };
        std::vector<Match> matches;
        for (std::size_t now = 0; now < list.size(); ++now) {
            for (std::size_t then = 0; then < before.size(); ++then) {
                const double share = common(list[now].row, *before[then]);
                if (share >= min_common) matches.push_back({share, now, then});
            }
        }
        std::stable_sort(matches.begin(), matches.end(),
                         [](const Match& a, const Match& b) { return a.common > b.common; });
        std::vector<std::uint8_t> used(before.size(), 0);
        for (const Match& match : matches) {
            std::string& id = list[match.now].row.id;
            if (!id.empty() || used[match.then]) continue;
            id = before[match.then]->id;
            used[match.then] = 1;
        }
        std::map<char, int> last;
        for (const DecisionRow* row : before)
            if (row->id.size() > 1) last[row->id[0]] = std::max(last[row->id[0]], std::atoi(row->id.c_str() + 1));
        for (ListedProposal& one : list) {
            if (!one.row.id.empty()) continue;
            const char letter = letter_of(one.row.kind);
            one.row.id = letter + std::to_string(++last[letter]);
        }
    }

    const DecisionRow* decided(const std::string& id) const {
        for (const DecisionRow& row : known_.decided)
            if (row.id == id) return &row;
        return nullptr;
    }

    /// Stops that bear on the decided area now, but did not then. The distance is that of the stops then. So no stop
    /// counts as new because the area or the reach grew.
    std::vector<std::string> new_stops(const DecisionRow& then) const {
        const std::set<std::string> known(then.stops.begin(), then.stops.end());
        std::vector<std::pair<double, std::string>> near;
        double reach_m = known.empty() ? proposals_.reach_m : 0;
        for (const std::uint32_t s : infer::stops_that_bear(survey_, then.ground, proposals_.reach_m)) {
            const double off_m = infer::distance_to(then.ground, survey_.stops[s].position);
            if (known.contains(survey_.stops[s].id))
                reach_m = std::max(reach_m, off_m);
            else
                near.emplace_back(off_m, survey_.stops[s].id);
        }
        std::vector<std::string> result;
        for (auto& [off_m, id] : near)
            if (off_m <= reach_m) result.push_back(std::move(id));
        return result;
    }

    void decide(ListedProposal& one) const {
        const DecisionRow* const then = decided(one.row.id);
        if (then == nullptr || then->decision == "open") return;
        const std::vector<std::string> fresh = new_stops(*then);
        one.row.why = then->why;
        one.row.decided_on = then->decided_on;
        if (then->decision == "rejected" && !fresh.empty()) {
            one.row.note = "New evidence since you rejected it: " + listed_stops(fresh) + ".";
            return;
        }
        one.row.decision = then->decision;
        if (then->decision == "accepted" && then->hectares && one.row.hectares &&
            other_size(*then->hectares, *one.row.hectares))
            one.row.note = "It was " + hectares(*then->hectares * 1e4) + " ha when you accepted it.";
    }
    static bool other_size(double then, double now) { return std::max(then, now) > 1.25 * std::min(then, now); }

    bool is_drawn(const DecisionRow& row) const {
        double drawn = 0, all = 0;
        for (std::size_t i = 0; i < std::min(row.parts.size(), row.ground.size()); ++i) {
            const double area = geo::area_m2(row.ground[i]);
            all += area;
            if (code(map_.unit_at(geo::place_inside(row.ground[i]))) == row.parts[i].to) drawn += area;
        }
        return all > 0 && drawn >= 0.5 * all;
    }

    /// Accepted, not in the draft yet, and no longer proposed.
    void add_accepted_before(std::vector<ListedProposal>& list) const {
        std::set<std::string> there;
        for (const ListedProposal& one : list) there.insert(one.row.id);
        for (const DecisionRow& row : known_.decided) {
            if (row.decision != "accepted" || row.parts.empty() || there.contains(row.id) || is_drawn(row)) continue;
            ListedProposal one;
            one.row = row;
            one.middle = geo::place_inside(row.ground.front());
            std::vector<std::string> now;
            for (const std::uint32_t s : infer::stops_that_bear(survey_, row.ground, proposals_.reach_m))
                now.push_back(survey_.stops[s].id);
            const std::vector<std::string> fresh = new_stops(row);
            one.row.stops = now;
            if (!fresh.empty()) {
                one.row.decision = "open";
                one.row.note = "No longer proposed; new evidence since you accepted it: " + listed_stops(fresh) + ".";
            } else {
                one.row.note = "No longer proposed; it stays accepted unless new stops bear on it.";
            }
            list.push_back(std::move(one));
        }
    }

    const model::Survey& survey_;
    const geo::UnitMap& map_;
    const infer::Relocation& relocation_;
    const infer::Proposals& proposals_;
    const KnownProposals& known_;
};

}  // namespace

std::vector<ListedProposal> list_proposals(const model::Survey& survey, const geo::UnitMap& map,
                                           const infer::Relocation& relocation, const infer::Proposals& proposals,
                                           const KnownProposals& known) {
    return Listing(survey, map, relocation, proposals, known).take();
}

ProposalCounts counts_of(const std::vector<ListedProposal>& list) {
    ProposalCounts counts;
    for (const ListedProposal& one : list) {
        if (one.open())
            ++counts.open, counts.open_gain_hectares += one.gain_hectares;
        else if (one.row.decision == "accepted")
            ++counts.accepted;
        else if (one.row.decision == "rejected")
            ++counts.rejected;
        else
            ++counts.later;
    }
    return counts;
}

model::UnitIndex unit_of_code(const model::Survey& survey, std::string_view code) {
    const auto found =
        std::find_if(survey.units.begin(), survey.units.end(), [&](const auto& unit) { return unit.code == code; });
    return found == survey.units.end() ? model::no_unit : static_cast<model::UnitIndex>(found - survey.units.begin());
}

}  // namespace subcrop::publish
