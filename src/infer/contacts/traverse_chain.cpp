#include "infer/contacts/traverse_chain.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <numeric>
#include <span>

#include "infer/answer/reckoning.hpp"

namespace subcrop::infer {

namespace {

/// Multiplying the priors of stops one standard error apart overstates the evidence against a displaced contact by this
/// factor, compared with a Gaussian error of the contact. It is the ratio of integral ln(Phi(t) / Phi(-t)) dt over [0,
/// d] to d^2 / 2: 1.63 at d = 1 and 1.74 at d = 2.
constexpr double repeated_prior = 1.65;
/// Mean length of a single error of the draft along a traverse, in mean distances between its crossings. Bodies that a
/// draft leaves out are smaller than those it has. Common practice, no source.
constexpr double wrong_ground = 0.5;
/// Probability shared by the units that the draft does not have near a stop. It is smaller than the tail of any
/// displacement worth finding.
constexpr double min_prior = 1e-4;

/// Between stops the unit changes by the adjacency of the draft. Right and wrong parts of the draft follow a chain of
/// their own. The matrix is the product of the two, so a step costs units x units twice, instead of (2 units) x (2
/// units).
class UnitTransition : public Transition {
public:
    UnitTransition(const std::vector<double>& chainage, const TraverseSetting& ground, double error, std::size_t units)
        : ground_(ground), units_(units) {
        for (std::size_t gap = 0; gap + 1 < chainage.size(); ++gap) {
            // At least one metre, because two stops at one place may lie on different units.
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
    /// Messages sum to one; a smaller part than this changes no printed figure.
    static constexpr double negligible = 1e-15;
    struct Gap {
        double change, leave, enter;
    };
    const TraverseSetting& ground_;
    std::size_t units_;
    std::vector<Gap> gaps_;
};

/// Stops x units: the draft's membership.
std::vector<double> priors(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                           const Traverse& traverse, const TraverseSetting& ground) {
    const std::size_t units = survey.units.size(), count = traverse.stops.size();
    std::vector<double> prior(count * units);
    for (std::size_t i = 0; i < count; ++i) {
        const model::Stop& stop = survey.stops[traverse.stops[i]];
        const std::span<double> row(&prior[i * units], units);
        map.membership(stop.position, std::hypot(stop.position_sd_m, fit.contact_sd_m), row);
        const double on_map = std::accumulate(row.begin(), row.end(), 0.0);
        for (std::size_t u = 0; u < units; ++u) {
            const double draft = on_map > 1e-6 ? row[u] / on_map : ground.shares[u];
            row[u] = (1 - min_prior) * draft + min_prior / static_cast<double>(units);
        }
    }
    return prior;
}

std::vector<double> start(const model::Survey& survey, const TraverseSetting& ground, std::span<const double> prior) {
    const std::size_t units = survey.units.size();
    const double error = survey.settings.draft_error_share;
    std::vector<double> p(2 * units);
    for (std::size_t u = 0; u < units; ++u) {
        p[u] = (1 - error) * prior[u];
        p[units + u] = error * ground.shares[u];
    }
    return p;
}

std::vector<double> emission(const model::Survey& survey, const Fit& fit, const Traverse& traverse,
                             const TraverseLine& course, std::span<const double> prior) {
    const std::size_t units = survey.units.size(), count = traverse.stops.size();
    std::vector<double> log_emission(count * 2 * units), likelihood(units);
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t s = traverse.stops[i];
        fit.reckoning->soil_below(s, likelihood);
        fit.reckoning->add_rock_seen(s, likelihood);
        // All stops near a contact share its error. Stops closer together than that error repeat one another about the
        // draft. So each is weighted by the length it represents. The first stop is in `start`.
        const double sd = std::hypot(survey.stops[s].position_sd_m, fit.contact_sd_m);
        const double before = i > 0 ? course.chainage[i] - course.chainage[i - 1] : 0;
        const double after = i + 1 < count ? course.chainage[i + 1] - course.chainage[i] : 0;
        const double counts = i == 0 ? 0 : std::min(1.0, 0.5 * (before + after) / (repeated_prior * sd));
        for (std::size_t u = 0; u < units; ++u) {
            log_emission[i * 2 * units + u] = likelihood[u] + counts * std::log(prior[i * units + u]);
            log_emission[(i * 2 + 1) * units + u] = likelihood[u];
        }
    }
    return log_emission;
}

}  // namespace

TraverseSetting survey_setting(const model::Survey& survey, const geo::UnitMap& map, double walked_m,
                               std::size_t crossings) {
    const std::size_t units = survey.units.size();
    TraverseSetting ground;
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
    // The draft may lack a neighbour, as it may be wrong anywhere. So a small part follows the units' shares of the
    // area.
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
    // Random lines meet curves of total length L in an area A every pi A / (2 L) on average (Crofton's formula). This
    // expectation counts as one crossing in addition to those along the traverses.
    const double expected = contact_length > 0 ? std::numbers::pi * area / (2 * contact_length)
                                               : std::max(map.extent().width() + map.extent().height(), 1.0);
    ground.lambda_m = std::max((walked_m + expected) / (static_cast<double>(crossings) + 1), survey.contact_sd_m);
    return ground;
}

TraverseLine lay_out(const model::Survey& survey, const geo::UnitMap& map, const Traverse& traverse) {
    TraverseLine course;
    for (const std::size_t s : traverse.stops) {
        const Point place = survey.stops[s].position;
        course.chainage.push_back(course.line.empty() ? 0
                                                      : course.chainage.back() + distance(course.line.back(), place));
        course.line.push_back(place);
    }
    course.mapped = mapped_crossings(map, course.line, survey.contact_sd_m / 50);
    return course;
}

std::vector<MappedCrossing> mapped_crossings(const geo::UnitMap& map, const Line& line, double step_m) {
    std::vector<MappedCrossing> crossings;
    const double look_m = 100 * step_m;
    model::UnitIndex unit = line.empty() ? model::no_unit : map.unit_at(line.front());
    double begun = 0;      // chainage at the start of the segment
    double last_seen = 0;  // chainage at which `unit` was last found
    for (std::size_t i = 1; i < line.size(); ++i) {
        const Point a = line[i - 1], b = line[i];
        const double length = distance(a, b);
        const auto at = [&](double along) -> Point {
            return {a.x + along / length * (b.x - a.x), a.y + along / length * (b.y - a.y)};
        };
        for (double along = 0; along < length;) {
            // Up to the distance of the nearest contact the line stays in the same unit.
            const auto nearest = map.nearest_contact(at(along), look_m);
            const double free_m = nearest ? nearest->distance_m : look_m;
            const double next = std::min(along + std::max(free_m, step_m), length);
            const model::UnitIndex here = map.unit_at(at(next));
            if (here != unit && here != model::no_unit) {
                // A gap off the map between two units is a contact only if it is narrow.
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

TraverseChain::TraverseChain(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                             const Traverse& traverse, const TraverseLine& course, const TraverseSetting& ground)
    : units_(survey.units.size()),
      count_(traverse.stops.size()),
      prior_(priors(survey, map, fit, traverse, ground)),
      markov_(start(survey, ground, prior_), emission(survey, fit, traverse, course, prior_),
              std::make_shared<UnitTransition>(course.chainage, ground, survey.settings.draft_error_share, units_)) {}

model::UnitIndex TraverseChain::most_probable(std::size_t stop) const {
    const auto p = markov_.smoothed(stop);
    std::size_t best = 0;
    for (std::size_t u = 1; u < units_; ++u) {
        if (p[u] + p[units_ + u] > p[best] + p[units_ + best]) best = u;
    }
    return static_cast<model::UnitIndex>(best);
}

double TraverseChain::probability(std::size_t stop, model::UnitIndex unit) const {
    const auto p = markov_.smoothed(stop);
    return p[static_cast<std::size_t>(unit)] + p[units_ + static_cast<std::size_t>(unit)];
}

double TraverseChain::change(std::size_t gap, model::UnitIndex from, model::UnitIndex to) const {
    const auto u = static_cast<std::size_t>(from), v = static_cast<std::size_t>(to);
    return markov_.pair(gap, u, v) + markov_.pair(gap, u, units_ + v) + markov_.pair(gap, units_ + u, v) +
           markov_.pair(gap, units_ + u, units_ + v);
}

}  // namespace subcrop::infer
