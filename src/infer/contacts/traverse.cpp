#include "subcrop/infer/traverse.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include "infer/answer/reckoning.hpp"
#include "infer/contacts/crossing_match.hpp"
#include "infer/contacts/traverse_chain.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"

namespace subcrop::infer {

namespace {

/// A crossing of the draft is matched with found ones within this many standard errors of a contact.
constexpr double match_reach = 8;
/// Found crossings that match none of the draft's are reported only above this probability.
constexpr double worth_telling = 0.5;

/// Changes of the most probable unit between stops, each with the probabilities of the same change in the gaps around.
std::vector<FoundCrossing> find_crossings(const model::Survey& survey, const TraverseChain& chain,
                                          const Traverse& traverse, const TraverseLine& course) {
    const std::size_t count = chain.stops();
    std::vector<FoundCrossing> found;
    for (std::size_t gap = 0; gap + 1 < count; ++gap) {
        const model::UnitIndex from = chain.most_probable(gap), to = chain.most_probable(gap + 1);
        if (from != to) found.push_back({gap, from, to, 0, {}});
    }
    // The same change may occur twice on a traverse; the gaps between are divided half way.
    std::map<std::pair<model::UnitIndex, model::UnitIndex>, std::vector<std::size_t>> same;
    for (std::size_t c = 0; c < found.size(); ++c) same[{found[c].from, found[c].to}].push_back(c);
    for (const auto& of_change : same) {
        const std::vector<std::size_t>& list = of_change.second;  // no structured binding: Clang 14 captures none
        for (std::size_t k = 0; k < list.size(); ++k) {
            FoundCrossing& c = found[list[k]];
            const auto before = [&](std::size_t gap) { return k == 0 || 2 * gap > found[list[k - 1]].gap + c.gap; };
            const auto after = [&](std::size_t gap) {
                return k + 1 == list.size() || 2 * gap <= c.gap + found[list[k + 1]].gap;
            };
            std::vector<GapMass> masses;
            const auto add = [&](std::size_t gap, double mass) {
                const double sd_from = survey.stops[traverse.stops[gap]].position_sd_m;
                const double sd_to = survey.stops[traverse.stops[gap + 1]].position_sd_m;
                masses.push_back({course.chainage[gap], course.chainage[gap + 1],
                                  std::sqrt(0.5 * (sd_from * sd_from + sd_to * sd_to)), mass});
            };
            // If this crossing is beyond a stop, the stop lies on `from`. So the crossing's probability beyond a stop
            // is at most the stop's probability of `from`. Any excess belongs to another crossing of the same kind.
            // Backwards the same holds with `to`.
            constexpr double min_mass = 1e-6;
            double room = 1;
            const auto reach = [&](std::size_t gap, std::size_t stop,
                                   model::UnitIndex side) {  // past the stop into the next gap
                room = std::min(room, chain.probability(stop, side));
                if (room < min_mass) return false;
                const double mass = std::min(room, chain.change(gap, c.from, c.to));
                room -= mass;
                if (mass >= min_mass) add(gap, mass);
                return true;
            };
            for (std::size_t gap = c.gap; gap > 0 && before(gap - 1) && reach(gap - 1, gap, c.to);) --gap;
            std::reverse(masses.begin(), masses.end());
            add(c.gap, std::max(chain.change(c.gap, c.from, c.to), 1e-12));
            room = 1;
            for (std::size_t gap = c.gap + 1; gap + 1 < count && after(gap) && reach(gap, gap, c.from);) ++gap;
            double sum = 0;
            for (const GapMass& gap : masses) sum += gap.mass;
            c.probability = std::min(1.0, sum);
            c.place = place_crossing(masses);
        }
    }
    std::sort(found.begin(), found.end(), [](const FoundCrossing& a, const FoundCrossing& b) {
        return std::tuple(a.place.middle, a.gap) < std::tuple(b.place.middle, b.gap);
    });
    return found;
}

Point place_along(const TraverseLine& course, double chainage_m) {
    const auto above = std::upper_bound(course.chainage.begin() + 1, course.chainage.end() - 1, chainage_m);
    const auto i = static_cast<std::size_t>(above - course.chainage.begin());
    const double length = course.chainage[i] - course.chainage[i - 1];
    const double share = length > 0 ? std::clamp((chainage_m - course.chainage[i - 1]) / length, 0.0, 1.0) : 0.0;
    const Point a = course.line[i - 1], b = course.line[i];
    return {a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

/// Probability that the change is within `reach_m` of a chainage.
double mass_near(const TraverseChain& chain, const TraverseLine& course, const MappedCrossing& change, double reach_m) {
    double sum = 0;
    for (std::size_t gap = 0; gap + 1 < chain.stops(); ++gap) {
        if (course.chainage[gap + 1] < change.chainage_m - reach_m ||
            course.chainage[gap] > change.chainage_m + reach_m)
            continue;
        sum += chain.change(gap, change.from_unit, change.to_unit);
    }
    return std::min(1.0, sum);
}

std::vector<TraverseCrossing> cross(const model::Survey& survey, const Fit& fit, const Traverse& traverse,
                                    const TraverseLine& course, const TraverseChain& chain) {
    std::vector<TraverseCrossing> crossings;
    const auto speaks = [&](std::size_t stop) { return fit.reckoning->has_evidence(stop); };
    const auto first = std::find_if(traverse.stops.begin(), traverse.stops.end(), speaks);
    const auto last = std::find_if(traverse.stops.rbegin(), traverse.stops.rend(), speaks);
    if (first == traverse.stops.end() || &*first == &*last) return crossings;
    const double from_m = course.chainage[static_cast<std::size_t>(first - traverse.stops.begin())];
    const double to_m = course.chainage[static_cast<std::size_t>(traverse.stops.rend() - last) - 1];

    std::vector<FoundCrossing> found = find_crossings(survey, chain, traverse, course);
    std::erase_if(found, [&](const FoundCrossing& c) { return c.place.middle < from_m || c.place.middle > to_m; });
    // A crossing of the draft just beyond the last stop with evidence may still be matched. Unmatched, it is not
    // reported.
    const double reach_m = match_reach * survey.contact_sd_m;
    std::vector<MappedCrossing> mapped = course.mapped;
    std::erase_if(mapped, [&](const MappedCrossing& c) {
        return c.chainage_m < from_m - reach_m || c.chainage_m > to_m + reach_m;
    });
    std::vector<double> speaking_m;
    for (std::size_t i = 0; i < traverse.stops.size(); ++i)
        if (speaks(traverse.stops[i])) speaking_m.push_back(course.chainage[i]);
    const std::vector<std::optional<CrossingMatch>> partner = match_crossings(found, mapped, speaking_m, reach_m);

    std::vector<bool> met(mapped.size(), false);
    for (std::size_t f = 0; f < found.size(); ++f) {
        const CrossingPlace& place = found[f].place;
        TraverseCrossing crossing{traverse.name,
                                  found[f].from,
                                  found[f].to,
                                  place.middle,
                                  place.low,
                                  place.high,
                                  found[f].probability,
                                  {},
                                  {},
                                  CrossingStatus::unmapped,
                                  place_along(course, place.middle)};
        if (partner[f]) {
            for (std::size_t m = partner[f]->first; m <= partner[f]->last; ++m) met[m] = true;
            const double begin = mapped[partner[f]->first].chainage_m, end = mapped[partner[f]->last].chainage_m;
            crossing.mapped_chainage_m = 0.5 * (begin + end);
            crossing.offset_m = place.middle - *crossing.mapped_chainage_m;
            crossing.status =
                end >= place.low && begin <= place.high ? CrossingStatus::confirmed : CrossingStatus::displaced;
        } else if (found[f].probability < worth_telling) {
            continue;
        }
        crossings.push_back(std::move(crossing));
    }
    for (std::size_t m = 0; m < mapped.size(); ++m) {
        if (met[m] || mapped[m].chainage_m < from_m || mapped[m].chainage_m > to_m) continue;
        crossings.push_back({traverse.name,
                             mapped[m].from_unit,
                             mapped[m].to_unit,
                             {},
                             {},
                             {},
                             mass_near(chain, course, mapped[m], 2 * survey.contact_sd_m),
                             mapped[m].chainage_m,
                             {},
                             CrossingStatus::not_found,
                             place_along(course, mapped[m].chainage_m)});
    }
    std::stable_sort(crossings.begin(), crossings.end(), [](const TraverseCrossing& a, const TraverseCrossing& b) {
        return (a.chainage_m ? *a.chainage_m : *a.mapped_chainage_m) <
               (b.chainage_m ? *b.chainage_m : *b.mapped_chainage_m);
    });
    return crossings;
}

struct Walk {
    std::vector<Traverse> traverses;
    std::vector<TraverseLine> courses;
    TraverseSetting ground;
};

Walk walk(const model::Survey& survey, const geo::UnitMap& map, unsigned threads) {
    Walk all{order_traverses(survey), {}, {}};
    all.courses.resize(all.traverses.size());
    parallel_blocks(all.traverses.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t t = begin; t < end; ++t) all.courses[t] = lay_out(survey, map, all.traverses[t]);
    });
    double walked_m = 0;
    std::size_t crossings = 0;
    for (const TraverseLine& course : all.courses) {
        walked_m += course.chainage.back();
        crossings += course.mapped.size();
    }
    all.ground = survey_setting(survey, map, walked_m, crossings);
    return all;
}

}  // namespace

std::string_view to_string(CrossingStatus status) {
    switch (status) {
        case CrossingStatus::confirmed:
            return "confirmed";
        case CrossingStatus::displaced:
            return "displaced";
        case CrossingStatus::unmapped:
            return "unmapped";
        case CrossingStatus::not_found:
            return "not_found";
    }
    return {};
}

std::string_view description(CrossingStatus status) {
    switch (status) {
        case CrossingStatus::confirmed:
            return "The draft has the contact where the stops find it";
        case CrossingStatus::displaced:
            return "The stops find the contact, but not where the draft has it";
        case CrossingStatus::unmapped:
            return "The stops find a contact that the draft does not have";
        case CrossingStatus::not_found:
            return "The draft has a contact that the stops do not find";
    }
    return {};
}

std::vector<TraverseCourse> follow_traverses(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                             unsigned threads) {
    Walk all = walk(survey, map, threads);
    std::vector<TraverseCourse> followed(all.traverses.size());
    parallel_blocks(followed.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t t = begin; t < end; ++t) {
            const TraverseChain chain(survey, map, fit, all.traverses[t], all.courses[t], all.ground);
            std::vector<double>& probability = followed[t].probability;
            probability.reserve(chain.stops() * chain.units());
            for (std::size_t stop = 0; stop < chain.stops(); ++stop) {
                for (std::size_t u = 0; u < chain.units(); ++u)
                    probability.push_back(chain.probability(stop, static_cast<model::UnitIndex>(u)));
            }
            followed[t].crossings = cross(survey, fit, all.traverses[t], all.courses[t], chain);
            followed[t].chainage_m = std::move(all.courses[t].chainage);
            followed[t].mapped = std::move(all.courses[t].mapped);
            followed[t].traverse = std::move(all.traverses[t]);
        }
    });
    return followed;
}

std::vector<TraverseCrossing> crossings_of(const std::vector<TraverseCourse>& followed) {
    std::vector<TraverseCrossing> crossings;
    for (const TraverseCourse& course : followed)
        crossings.insert(crossings.end(), course.crossings.begin(), course.crossings.end());
    return crossings;
}

std::vector<TraverseCrossing> cross_traverses(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                              unsigned threads) {
    return crossings_of(follow_traverses(survey, map, fit, threads));
}

}  // namespace subcrop::infer
