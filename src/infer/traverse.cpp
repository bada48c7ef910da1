#include "subcrop/infer/traverse.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <numbers>
#include <numeric>
#include <span>
#include <tuple>

#include "crossing_match.hpp"
#include "hidden_markov.hpp"
#include "reckoning.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// The stops' priors multiplied over a displaced contact add up to this many times what a Gaussian error of the contact
/// holds against the displacement, where stops stand one standard error apart: the ratio of
/// integral ln(Phi(t) / Phi(-t)) dt over [0, d] to d^2 / 2, 1.63 at d = 1 and 1.74 at d = 2.
constexpr double repeated_prior = 1.65;
/// A crossing of the draft is sought among the found ones no farther than this many standard errors of a contact.
constexpr double match_reach = 8;
/// Mean length of the ground where the draft is wrong in no smooth way, in mean distances between its crossings: bodies that
/// a draft leaves out are smaller than those it has. Common practice, no source.
constexpr double wrong_ground = 0.5;
/// Shared by the units of which the draft has none near a stop; smaller than the tail of any displacement worth finding.
constexpr double least_prior = 1e-4;
/// Found crossings less probable than this that match none of the draft's are not told.
constexpr double worth_telling = 0.5;

bool is_iso_date(std::string_view text) { return text.size() >= 10 && text[4] == '-' && text[7] == '-'; }

/// Direction of the greatest spread of places, pointing east (or north).
Point principal_direction(const model::Survey& survey, const std::vector<std::size_t>& stops) {
    Point mean;
    for (const std::size_t s : stops) {
        mean.x += survey.stops[s].position.x / static_cast<double>(stops.size());
        mean.y += survey.stops[s].position.y / static_cast<double>(stops.size());
    }
    double xx = 0, xy = 0, yy = 0;
    for (const std::size_t s : stops) {
        const double dx = survey.stops[s].position.x - mean.x, dy = survey.stops[s].position.y - mean.y;
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    const double angle = 0.5 * std::atan2(2 * xy, xx - yy);  // in (-90, 90] degrees
    return {std::cos(angle), std::sin(angle)};
}

void put_in_order(const model::Survey& survey, Traverse& traverse) {
    std::vector<std::size_t>& stops = traverse.stops;
    const auto all = [&](auto has) { return std::all_of(stops.begin(), stops.end(), has); };
    const auto sort_by = [&](auto key) {
        std::sort(stops.begin(), stops.end(), [&](std::size_t a, std::size_t b) {
            const model::Stop &p = survey.stops[a], &q = survey.stops[b];
            return std::tuple(key(p), p.position.x, p.position.y, std::string_view(p.id)) <
                   std::tuple(key(q), q.position.x, q.position.y, std::string_view(q.id));
        });
    };
    if (all([&](std::size_t s) { return survey.stops[s].seq.has_value(); })) {
        sort_by([](const model::Stop& stop) { return *stop.seq; });
        return;
    }
    if (all([&](std::size_t s) { return is_iso_date(survey.stops[s].date.str()); })) {
        const auto date = [](const model::Stop& stop) { return std::string_view(stop.date.str()); };
        sort_by(date);
        const bool distinct = std::adjacent_find(stops.begin(), stops.end(), [&](std::size_t a, std::size_t b) {
                                  return date(survey.stops[a]) == date(survey.stops[b]);
                              }) == stops.end();
        if (distinct) return;
    }
    const Point along = principal_direction(survey, stops);
    sort_by([along](const model::Stop& stop) { return stop.position.x * along.x + stop.position.y * along.y; });
}

/// What the chains of all traverses share.
struct Ground {
    std::vector<double> shares;     ///< of each unit in the map's ground
    std::vector<double> adjacency;  ///< units x units: the next unit, given a change
    double lambda_m = 0;            ///< mean distance between changes of unit
};

Ground survey_ground(const model::Survey& survey, const geo::UnitMap& map, double walked_m, std::size_t crossings) {
    const std::size_t units = survey.units.size();
    Ground ground;
    ground.shares = map.unit_areas_m2();
    const double area = std::accumulate(ground.shares.begin(), ground.shares.end(), 0.0);
    for (double& share : ground.shares) share = area > 0 ? share / area : 1.0 / static_cast<double>(units);
    ground.adjacency.assign(units * units, 0.0);
    double contact_length = 0;
    for (const geo::Contact& contact : map.contacts()) {
        const auto a = static_cast<std::size_t>(contact.unit_a), b = static_cast<std::size_t>(contact.unit_b);
        ground.adjacency[a * units + b] += contact.length_m;
        ground.adjacency[b * units + a] += contact.length_m;
        contact_length += contact.length_m;
    }
    // The draft may have left out a neighbour, as it may be wrong anywhere: a small share goes by the units' ground.
    const double error = survey.settings.draft_error_share;
    for (std::size_t u = 0; u < units; ++u) {
        const std::span<double> row(&ground.adjacency[u * units], units);
        const double length = std::accumulate(row.begin(), row.end(), 0.0);
        const double others = std::max(1 - ground.shares[u], 1e-12);
        for (std::size_t v = 0; v < units; ++v) {
            const double by_ground =
                u == v ? 0.0 : std::max(ground.shares[v] / others, 1e-3 / static_cast<double>(units));
            row[v] = length > 0 ? (1 - error) * row[v] / length + error * by_ground : by_ground;
        }
        const double sum = std::accumulate(row.begin(), row.end(), 0.0);
        if (sum > 0) {
            for (double& p : row) p /= sum;
        } else {
            row[u] = 1;  // the only unit
        }
    }
    // Lines in random directions meet curves of length L on ground of area A every pi A / (2 L) on average (Crofton's
    // formula); that expectation counts as one crossing beside those found along the traverses.
    const double expected = contact_length > 0 ? std::numbers::pi * area / (2 * contact_length)
                                               : std::max(map.extent().width() + map.extent().height(), 1.0);
    ground.lambda_m = std::max((walked_m + expected) / (static_cast<double>(crossings) + 1), survey.contact_sd_m);
    return ground;
}

/// One traverse laid out: its line, chainages and the draft's crossings.
struct Course {
    Line line;
    std::vector<double> chainage;
    std::vector<MappedCrossing> mapped;
};

Course lay_out(const model::Survey& survey, const geo::UnitMap& map, const Traverse& traverse) {
    Course course;
    for (const std::size_t s : traverse.stops) {
        const Point place = survey.stops[s].position;
        course.chainage.push_back(course.line.empty() ? 0 : course.chainage.back() + distance(course.line.back(), place));
        course.line.push_back(place);
    }
    course.mapped = mapped_crossings(map, course.line, survey.contact_sd_m / 50);
    return course;
}

/// From stop to stop the unit changes by the adjacency of the draft, and right ground and wrong ground by a chain of their
/// own: the matrix is the product of the two, so a step costs units x units twice instead of (2 units) x (2 units).
class GroundTransition : public Transition {
public:
    GroundTransition(const std::vector<double>& chainage, const Ground& ground, double error, std::size_t units)
        : ground_(ground), units_(units) {
        for (std::size_t gap = 0; gap + 1 < chainage.size(); ++gap) {
            // Two stops at one place may still lie on different units: a metre at least.
            const double length = std::max(chainage[gap + 1] - chainage[gap], 1.0);
            const double leave = -std::expm1(-length / (wrong_ground * ground.lambda_m));
            gaps_.push_back({-std::expm1(-length / ground.lambda_m), leave,
                             std::min(leave * error / std::max(1 - error, error), 1.0)});
        }
    }
    void forward(std::size_t gap, std::span<const double> from, std::span<double> to) const override {
        const Gap& g = gaps_[gap];
        const double* right = from.data();
        const double* wrong = from.data() + units_;
        double* right_then = to.data();
        double* wrong_then = to.data() + units_;
        for (std::size_t u = 0; u < units_; ++u) {
            right_then[u] = (1 - g.change) * ((1 - g.enter) * right[u] + g.leave * wrong[u]);
            wrong_then[u] = (1 - g.change) * (g.enter * right[u] + (1 - g.leave) * wrong[u]);
        }
        for (std::size_t u = 0; u < units_; ++u) {
            const double to_right = g.change * ((1 - g.enter) * right[u] + g.leave * wrong[u]);
            const double to_wrong = g.change * (g.enter * right[u] + (1 - g.leave) * wrong[u]);
            if (to_right + to_wrong < negligible) continue;
            const double* row = &ground_.adjacency[u * units_];
            for (std::size_t v = 0; v < units_; ++v) {
                right_then[v] += to_right * row[v];
                wrong_then[v] += to_wrong * row[v];
            }
        }
    }
    void backward(std::size_t gap, std::span<const double> after, std::span<double> before) const override {
        const Gap& g = gaps_[gap];
        const double* right = after.data();
        const double* wrong = after.data() + units_;
        for (std::size_t u = 0; u < units_; ++u) {
            const double* row = &ground_.adjacency[u * units_];
            double next_right = 0, next_wrong = 0;
            for (std::size_t v = 0; v < units_; ++v) {
                next_right += row[v] * right[v];
                next_wrong += row[v] * wrong[v];
            }
            next_right = g.change * next_right + (1 - g.change) * right[u];
            next_wrong = g.change * next_wrong + (1 - g.change) * wrong[u];
            before[u] = (1 - g.enter) * next_right + g.enter * next_wrong;
            before[units_ + u] = g.leave * next_right + (1 - g.leave) * next_wrong;
        }
    }
    double probability(std::size_t gap, std::size_t from, std::size_t to) const override {
        const Gap& g = gaps_[gap];
        const std::size_t u = from % units_, v = to % units_;
        const double next = g.change * ground_.adjacency[u * units_ + v] + (u == v ? 1 - g.change : 0);
        const bool right = from < units_, right_then = to < units_;
        return next * (right ? (right_then ? 1 - g.enter : g.enter) : (right_then ? g.leave : 1 - g.leave));
    }

private:
    /// Messages sum to one: less than this of it moves no figure that is told.
    static constexpr double negligible = 1e-15;
    struct Gap {
        double change, leave, enter;
    };
    const Ground& ground_;
    std::size_t units_;
    std::vector<Gap> gaps_;
};

/// The chain of one traverse. Its states are the units twice over: on ground where the draft is right but for the errors of
/// position and contact, and on ground where it is wrong in no smooth way and says nothing. A missing body is one error of the
/// draft, not one a stop.
class Chain {
public:
    Chain(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit, const Traverse& traverse,
          const Course& course, const Ground& ground)
        : units_(survey.units.size()), count_(traverse.stops.size()),
          prior_(priors(survey, map, traverse, ground)),
          markov_(start(survey, ground), emission(survey, fit, traverse, course),
                  std::make_shared<GroundTransition>(course.chainage, ground, survey.settings.draft_error_share, units_)) {}

    std::size_t units() const { return units_; }
    std::size_t stops() const { return count_; }

    model::UnitIndex most_probable(std::size_t stop) const {
        const auto p = markov_.smoothed(stop);
        std::size_t best = 0;
        for (std::size_t u = 1; u < units_; ++u) {
            if (p[u] + p[units_ + u] > p[best] + p[units_ + best]) best = u;
        }
        return static_cast<model::UnitIndex>(best);
    }
    /// Probability of a unit at a stop.
    double probability(std::size_t stop, model::UnitIndex unit) const {
        const auto p = markov_.smoothed(stop);
        return p[static_cast<std::size_t>(unit)] + p[units_ + static_cast<std::size_t>(unit)];
    }
    /// Probability of this change of unit in a gap.
    double change(std::size_t gap, model::UnitIndex from, model::UnitIndex to) const {
        const auto u = static_cast<std::size_t>(from), v = static_cast<std::size_t>(to);
        return markov_.pair(gap, u, v) + markov_.pair(gap, u, units_ + v) + markov_.pair(gap, units_ + u, v) +
               markov_.pair(gap, units_ + u, units_ + v);
    }

private:
    std::vector<double> priors(const model::Survey& survey, const geo::UnitMap& map, const Traverse& traverse,
                               const Ground& ground) const {
        std::vector<double> prior(count_ * units_);
        for (std::size_t i = 0; i < count_; ++i) {
            const model::Stop& stop = survey.stops[traverse.stops[i]];
            const std::span<double> row(&prior[i * units_], units_);
            map.membership(stop.position, std::hypot(stop.position_sd_m, survey.contact_sd_m), row);
            const double on_map = std::accumulate(row.begin(), row.end(), 0.0);
            for (std::size_t u = 0; u < units_; ++u) {
                const double draft = on_map > 1e-6 ? row[u] / on_map : ground.shares[u];
                row[u] = (1 - least_prior) * draft + least_prior / static_cast<double>(units_);
            }
        }
        return prior;
    }
    std::vector<double> start(const model::Survey& survey, const Ground& ground) const {
        const double error = survey.settings.draft_error_share;
        std::vector<double> p(2 * units_);
        for (std::size_t u = 0; u < units_; ++u) {
            p[u] = (1 - error) * prior_[u];
            p[units_ + u] = error * ground.shares[u];
        }
        return p;
    }
    std::vector<double> emission(const model::Survey& survey, const Fit& fit, const Traverse& traverse,
                                 const Course& course) const {
        std::vector<double> log_emission(count_ * 2 * units_), likelihood(units_);
        for (std::size_t i = 0; i < count_; ++i) {
            const std::size_t s = traverse.stops[i];
            fit.reckoning->soil_below(s, likelihood);
            fit.reckoning->add_rock_seen(s, likelihood);
            // The error of a contact is one for all stops near it: where stops stand closer than that error, each repeats what
            // its neighbours say of the draft and counts by the length it stands for. The first stands in `start`.
            const double sd = std::hypot(survey.stops[s].position_sd_m, survey.contact_sd_m);
            const double before = i > 0 ? course.chainage[i] - course.chainage[i - 1] : 0;
            const double after = i + 1 < count_ ? course.chainage[i + 1] - course.chainage[i] : 0;
            const double counts = i == 0 ? 0 : std::min(1.0, 0.5 * (before + after) / (repeated_prior * sd));
            for (std::size_t u = 0; u < units_; ++u) {
                log_emission[i * 2 * units_ + u] = likelihood[u] + counts * std::log(prior_[i * units_ + u]);
                log_emission[(i * 2 + 1) * units_ + u] = likelihood[u];
            }
        }
        return log_emission;
    }

    std::size_t units_;
    std::size_t count_;
    std::vector<double> prior_;  ///< stops x units: the draft's membership
    HiddenMarkov markov_;
};

/// Changes of the most probable unit from stop to stop, each with the probability of the same change in the gaps around.
std::vector<FoundCrossing> find_crossings(const model::Survey& survey, const Chain& chain, const Traverse& traverse,
                                          const Course& course) {
    const std::size_t count = chain.stops();
    std::vector<FoundCrossing> found;
    for (std::size_t gap = 0; gap + 1 < count; ++gap) {
        const model::UnitIndex from = chain.most_probable(gap), to = chain.most_probable(gap + 1);
        if (from != to) found.push_back({gap, from, to, 0, {}});
    }
    // The same change may stand twice on a traverse; the gaps between are divided half way.
    std::map<std::pair<model::UnitIndex, model::UnitIndex>, std::vector<std::size_t>> same;
    for (std::size_t c = 0; c < found.size(); ++c) same[{found[c].from, found[c].to}].push_back(c);
    for (const auto& [change, list] : same) {
        for (std::size_t k = 0; k < list.size(); ++k) {
            FoundCrossing& c = found[list[k]];
            const auto before = [&](std::size_t gap) { return k == 0 || 2 * gap > found[list[k - 1]].gap + c.gap; };
            const auto after = [&](std::size_t gap) { return k + 1 == list.size() || 2 * gap <= c.gap + found[list[k + 1]].gap; };
            std::vector<GapMass> masses;
            const auto add = [&](std::size_t gap, double mass) {
                const double sd_from = survey.stops[traverse.stops[gap]].position_sd_m;
                const double sd_to = survey.stops[traverse.stops[gap + 1]].position_sd_m;
                masses.push_back({course.chainage[gap], course.chainage[gap + 1], std::sqrt(0.5 * (sd_from * sd_from + sd_to * sd_to)), mass});
            };
            // Were this crossing farther on, every stop as far as there would lie on `from`: no more of its probability lies beyond a stop than
            // that stop has of `from`. What is over is of another crossing like it. Backward likewise with `to`.
            constexpr double least_mass = 1e-6;
            double room = 1;
            const auto reach = [&](std::size_t gap, std::size_t stop, model::UnitIndex side) {  // over the stop into the gap beyond it
                room = std::min(room, chain.probability(stop, side));
                if (room < least_mass) return false;
                const double mass = std::min(room, chain.change(gap, c.from, c.to));
                room -= mass;
                if (mass >= least_mass) add(gap, mass);
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

Point place_along(const Course& course, double chainage_m) {
    const auto above = std::upper_bound(course.chainage.begin() + 1, course.chainage.end() - 1, chainage_m);
    const auto i = static_cast<std::size_t>(above - course.chainage.begin());
    const double length = course.chainage[i] - course.chainage[i - 1];
    const double share = length > 0 ? std::clamp((chainage_m - course.chainage[i - 1]) / length, 0.0, 1.0) : 0.0;
    const Point a = course.line[i - 1], b = course.line[i];
    return {a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

/// Probability that the change stands within `reach_m` of a chainage.
double mass_near(const Chain& chain, const Course& course, const MappedCrossing& change, double reach_m) {
    double sum = 0;
    for (std::size_t gap = 0; gap + 1 < chain.stops(); ++gap) {
        if (course.chainage[gap + 1] < change.chainage_m - reach_m || course.chainage[gap] > change.chainage_m + reach_m) continue;
        sum += chain.change(gap, change.from_unit, change.to_unit);
    }
    return std::min(1.0, sum);
}

std::vector<TraverseCrossing> cross(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                    const Traverse& traverse, const Course& course, const Ground& ground) {
    std::vector<TraverseCrossing> crossings;
    const auto speaks = [&](std::size_t stop) { return fit.reckoning->has_evidence(stop); };
    const auto first = std::find_if(traverse.stops.begin(), traverse.stops.end(), speaks);
    const auto last = std::find_if(traverse.stops.rbegin(), traverse.stops.rend(), speaks);
    if (first == traverse.stops.end() || &*first == &*last) return crossings;
    const double from_m = course.chainage[static_cast<std::size_t>(first - traverse.stops.begin())];
    const double to_m = course.chainage[static_cast<std::size_t>(traverse.stops.rend() - last) - 1];

    const Chain chain(survey, map, fit, traverse, course, ground);
    std::vector<FoundCrossing> found = find_crossings(survey, chain, traverse, course);
    std::erase_if(found, [&](const FoundCrossing& c) { return c.place.middle < from_m || c.place.middle > to_m; });
    // A crossing of the draft just beyond the stops that speak may be one that they find; unless they do, nothing is said of it.
    const double reach_m = match_reach * survey.contact_sd_m;
    std::vector<MappedCrossing> mapped = course.mapped;
    std::erase_if(mapped, [&](const MappedCrossing& c) { return c.chainage_m < from_m - reach_m || c.chainage_m > to_m + reach_m; });
    std::vector<double> speaking_m;
    for (std::size_t i = 0; i < traverse.stops.size(); ++i)
        if (speaks(traverse.stops[i])) speaking_m.push_back(course.chainage[i]);
    const std::vector<std::optional<CrossingMatch>> partner = match_crossings(found, mapped, speaking_m, reach_m);

    std::vector<bool> met(mapped.size(), false);
    for (std::size_t f = 0; f < found.size(); ++f) {
        const CrossingPlace& place = found[f].place;
        TraverseCrossing crossing{traverse.name, found[f].from, found[f].to, place.middle, place.low, place.high,
                                  found[f].probability, {}, {}, CrossingStatus::unmapped, place_along(course, place.middle)};
        if (partner[f]) {
            for (std::size_t m = partner[f]->first; m <= partner[f]->last; ++m) met[m] = true;
            const double begin = mapped[partner[f]->first].chainage_m, end = mapped[partner[f]->last].chainage_m;
            crossing.mapped_chainage_m = 0.5 * (begin + end);
            crossing.offset_m = place.middle - *crossing.mapped_chainage_m;
            crossing.status = end >= place.low && begin <= place.high ? CrossingStatus::confirmed : CrossingStatus::displaced;
        } else if (found[f].probability < worth_telling) {
            continue;
        }
        crossings.push_back(std::move(crossing));
    }
    for (std::size_t m = 0; m < mapped.size(); ++m) {
        if (met[m] || mapped[m].chainage_m < from_m || mapped[m].chainage_m > to_m) continue;
        crossings.push_back({traverse.name, mapped[m].from_unit, mapped[m].to_unit, {}, {}, {},
                             mass_near(chain, course, mapped[m], 2 * survey.contact_sd_m), mapped[m].chainage_m, {},
                             CrossingStatus::not_found, place_along(course, mapped[m].chainage_m)});
    }
    std::stable_sort(crossings.begin(), crossings.end(), [](const TraverseCrossing& a, const TraverseCrossing& b) {
        return (a.chainage_m ? *a.chainage_m : *a.mapped_chainage_m) < (b.chainage_m ? *b.chainage_m : *b.mapped_chainage_m);
    });
    return crossings;
}

}  // namespace

std::string_view to_string(CrossingStatus status) {
    switch (status) {
        case CrossingStatus::confirmed: return "confirmed";
        case CrossingStatus::displaced: return "displaced";
        case CrossingStatus::unmapped: return "unmapped";
        case CrossingStatus::not_found: return "not_found";
    }
    return {};
}

std::string_view description(CrossingStatus status) {
    switch (status) {
        case CrossingStatus::confirmed: return "The draft has the contact where the stops find it";
        case CrossingStatus::displaced: return "The stops find the contact, but not where the draft has it";
        case CrossingStatus::unmapped: return "The stops find a contact that the draft does not have";
        case CrossingStatus::not_found: return "The draft has a contact that the stops do not find";
    }
    return {};
}

std::vector<Traverse> order_traverses(const model::Survey& survey) {
    std::map<std::string, std::vector<std::size_t>> by_name;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        if (!survey.stops[s].traverse.empty()) by_name[std::string(survey.stops[s].traverse.str())].push_back(s);
    }
    std::vector<Traverse> traverses;
    for (auto& [name, stops] : by_name) {
        if (stops.size() < 2) continue;
        traverses.push_back({name, std::move(stops)});
        put_in_order(survey, traverses.back());
    }
    return traverses;
}

std::vector<MappedCrossing> mapped_crossings(const geo::UnitMap& map, const Line& line, double step_m) {
    std::vector<MappedCrossing> crossings;
    const double look_m = 100 * step_m;
    model::UnitIndex unit = line.empty() ? model::no_unit : map.unit_at(line.front());
    double begun = 0;      // chainage at the start of the segment
    double last_seen = 0;  // chainage at which `unit` was last seen
    for (std::size_t i = 1; i < line.size(); ++i) {
        const Point a = line[i - 1], b = line[i];
        const double length = distance(a, b);
        const auto at = [&](double along) -> Point {
            return {a.x + along / length * (b.x - a.x), a.y + along / length * (b.y - a.y)};
        };
        for (double along = 0; along < length;) {
            // No contact is nearer than the nearest one: so far the line runs on in the same unit.
            const auto nearest = map.nearest_contact(at(along), look_m);
            const double free_m = nearest ? nearest->distance_m : look_m;
            const double next = std::min(along + std::max(free_m, step_m), length);
            const model::UnitIndex here = map.unit_at(at(next));
            if (here != unit && here != model::no_unit) {
                // Ground off the map between two units is a contact only where it is a mere gap.
                if (unit != model::no_unit && begun + next - last_seen <= 2 * std::max(free_m, step_m)) {
                    double low = along, high = next;
                    while (high - low > 1e-3) {
                        const double middle = 0.5 * (low + high);
                        (map.unit_at(at(middle)) == unit ? low : high) = middle;
                    }
                    crossings.push_back({begun + 0.5 * (low + high), unit, here});
                }
                unit = here;
            }
            if (here != model::no_unit) last_seen = begun + next;
            along = next;
        }
        begun += length;
    }
    return crossings;
}

namespace {

struct Walk {
    std::vector<Traverse> traverses;
    std::vector<Course> courses;
    Ground ground;
};

Walk walk(const model::Survey& survey, const geo::UnitMap& map, unsigned threads) {
    Walk all{order_traverses(survey), {}, {}};
    all.courses.resize(all.traverses.size());
    parallel_blocks(all.traverses.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t t = begin; t < end; ++t) all.courses[t] = lay_out(survey, map, all.traverses[t]);
    });
    double walked_m = 0;
    std::size_t crossings = 0;
    for (const Course& course : all.courses) {
        walked_m += course.chainage.back();
        crossings += course.mapped.size();
    }
    all.ground = survey_ground(survey, map, walked_m, crossings);
    return all;
}

}  // namespace

std::vector<TraverseCourse> follow_traverses(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                             unsigned threads) {
    Walk all = walk(survey, map, threads);
    std::vector<TraverseCourse> followed(all.traverses.size());
    parallel_blocks(followed.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t t = begin; t < end; ++t) {
            const Chain chain(survey, map, fit, all.traverses[t], all.courses[t], all.ground);
            std::vector<double>& probability = followed[t].probability;
            probability.reserve(chain.stops() * chain.units());
            for (std::size_t stop = 0; stop < chain.stops(); ++stop) {
                for (std::size_t u = 0; u < chain.units(); ++u)
                    probability.push_back(chain.probability(stop, static_cast<model::UnitIndex>(u)));
            }
            followed[t].chainage_m = std::move(all.courses[t].chainage);
            followed[t].mapped = std::move(all.courses[t].mapped);
            followed[t].traverse = std::move(all.traverses[t]);
        }
    });
    return followed;
}

std::vector<TraverseCrossing> cross_traverses(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                                              unsigned threads) {
    const Walk all = walk(survey, map, threads);
    std::vector<std::vector<TraverseCrossing>> found(all.traverses.size());
    parallel_blocks(found.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t t = begin; t < end; ++t)
            found[t] = cross(survey, map, fit, all.traverses[t], all.courses[t], all.ground);
    });
    std::vector<TraverseCrossing> crossings;
    for (auto& list : found) std::move(list.begin(), list.end(), std::back_inserter(crossings));
    return crossings;
}

}  // namespace subcrop::infer
