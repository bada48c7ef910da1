#include "publish/field/walk_plan.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "subcrop/core/planar.hpp"

namespace subcrop::publish {

namespace {

constexpr double metres_an_hour = 3 * 1609.344;          // three miles
constexpr double ascent_metres_an_hour = 2000 * 0.3048;  // 2,000 feet
constexpr double shorter_by = 1e-6;                      // minutes

double ascent_along(const Line& way, const geo::Terrain* terrain) {
    double ascent = 0;
    if (terrain == nullptr) return ascent;
    std::optional<double> last;
    for (std::size_t k = 1; k < way.size(); ++k) {
        const Point from = way[k - 1], to = way[k];
        const double length = distance(from, to), step = std::max(terrain->hillslope_m(), length / 10'000);
        const auto steps = static_cast<std::size_t>(std::max(1.0, std::ceil(length / step)));
        for (std::size_t i = 0; i <= steps; ++i) {
            const double t = static_cast<double>(i) / static_cast<double>(steps);
            const std::optional<double> height =
                terrain->height({from.x + t * (to.x - from.x), from.y + t * (to.y - from.y)});
            if (!height) continue;  // across a void in one step
            if (last) ascent += std::max(0.0, *height - *last);
            last = height;
        }
    }
    return ascent;
}

double minutes_along(const Line& way, const geo::Terrain* terrain) {
    double length = 0;
    for (std::size_t i = 1; i < way.size(); ++i) length += distance(way[i - 1], way[i]);
    return naismith_minutes(length, ascent_along(way, terrain));
}

/// Minutes from each place to each other, the mean of both directions: on a round walk the ascents of both are equal.
class Table {
public:
    Table(std::vector<Point> places, const WalkLand& land) : count_(places.size()), minutes_(count_ * count_, 0) {
        for (std::size_t i = 0; i < count_; ++i) {
            for (std::size_t j = i + 1; j < count_; ++j) {
                const Leg there = leg_between(places[i], places[j], land);
                const double back = minutes_along(Line(there.way.rbegin(), there.way.rend()), land.terrain);
                const double mean = (there.minutes + back) / 2;
                minutes_[i * count_ + j] = minutes_[j * count_ + i] = mean;
            }
        }
    }
    double operator()(std::size_t i, std::size_t j) const { return minutes_[i * count_ + j]; }

private:
    std::size_t count_;
    std::vector<double> minutes_;
};

using Order = std::vector<std::size_t>;

/// A round through `order`, whose first entry stays: the start.
void shorten(Order& order, const Table& minutes) {
    const std::size_t n = order.size();
    if (n < 4) return;
    const auto at = [&](std::size_t k) { return order[k % n]; };
    for (bool better = true; better;) {
        better = false;
        for (std::size_t i = 1; i + 1 < n; ++i) {
            for (std::size_t j = i + 1; j < n; ++j) {
                const double before = minutes(at(i - 1), at(i)) + minutes(at(j), at(j + 1));
                const double after = minutes(at(i - 1), at(j)) + minutes(at(i), at(j + 1));
                if (after >= before - shorter_by) continue;
                std::reverse(order.begin() + static_cast<std::ptrdiff_t>(i),
                             order.begin() + static_cast<std::ptrdiff_t>(j) + 1);
                better = true;
            }
        }
        for (std::size_t i = 1; i < n; ++i) {
            const std::size_t place = order[i];
            const double spared = minutes(at(i - 1), place) + minutes(place, at(i + 1)) - minutes(at(i - 1), at(i + 1));
            for (std::size_t j = 0; j < n; ++j) {  // between j and j + 1
                if (j == i || j + 1 == i) continue;
                const double cost = minutes(at(j), place) + minutes(place, at(j + 1)) - minutes(at(j), at(j + 1));
                if (cost >= spared - shorter_by) continue;
                order.erase(order.begin() + static_cast<std::ptrdiff_t>(i));
                order.insert(order.begin() + static_cast<std::ptrdiff_t>(j < i ? j + 1 : j), place);
                better = true;
                break;
            }
        }
    }
}

/// Builds the walk. Places are numbered as given, then the start, if `round`.
class Walk {
public:
    Walk(std::span<const Point> places, std::span<const double> gains, const WalkLand& land, const WalkOptions& options)
        : gains_(gains),
          stop_minutes_(options.stop_minutes),
          round_(options.from.has_value()),
          start_(places.size()),
          minutes_(with_start(places, options.from), land) {}

    void begin(std::span<const std::size_t> order) {
        order_.assign(order.begin(), order.end());
        if (!round_) return;
        // Inserting the places by gain, each where it costs least, gives a good first round.
        Order by_gain(order_);
        std::stable_sort(by_gain.begin(), by_gain.end(),
                         [&](std::size_t a, std::size_t b) { return gains_[a] > gains_[b]; });
        order_ = {start_};
        for (const std::size_t place : by_gain) insert(place);
        shorten(order_, minutes_);
    }

    double total() const {
        double sum = 0;
        for (std::size_t k = 1; k < order_.size(); ++k) sum += minutes_(order_[k - 1], order_[k]);
        if (round_ && order_.size() > 1) sum += minutes_(order_.back(), order_.front());
        return sum + stop_minutes_ * static_cast<double>(stops());
    }

    std::size_t stops() const { return order_.size() - (round_ ? 1 : 0); }

    void fit_into(double minutes) {
        Order dropped;
        while (stops() > 0 && total() > minutes) {
            std::size_t worst = order_.size();
            double least = std::numeric_limits<double>::infinity();
            for (std::size_t k = round_ ? 1 : 0; k < order_.size(); ++k) {
                const double worth = gains_[order_[k]] / std::max(saved_without(k), shorter_by);
                if (worth < least || (worth == least && order_[k] > order_[worst])) {
                    least = worth;
                    worst = k;
                }
            }
            dropped.push_back(order_[worst]);
            order_.erase(order_.begin() + static_cast<std::ptrdiff_t>(worst));
            if (round_) shorten(order_, minutes_);
        }
        std::stable_sort(dropped.begin(), dropped.end(),
                         [&](std::size_t a, std::size_t b) { return gains_[a] > gains_[b]; });
        for (const std::size_t place : dropped) {
            const Order before = order_;
            insert(place);
            if (total() > minutes) order_ = before;
        }
    }

    Order stops_in_order() const { return {order_.begin() + (round_ ? 1 : 0), order_.end()}; }

private:
    static std::vector<Point> with_start(std::span<const Point> places, const std::optional<Point>& from) {
        std::vector<Point> all(places.begin(), places.end());
        if (from) all.push_back(*from);
        return all;
    }

    double saved_without(std::size_t k) const {
        const std::size_t n = order_.size();
        double saved = stop_minutes_;
        const bool before = round_ || k > 0, after = round_ || k + 1 < n;
        const std::size_t a = order_[(k + n - 1) % n], b = order_[(k + 1) % n];
        if (before) saved += minutes_(a, order_[k]);
        if (after) saved += minutes_(order_[k], b);
        if (before && after) saved -= minutes_(a, b);
        return saved;
    }

    void insert(std::size_t place) {
        std::size_t best = 0;
        double least = std::numeric_limits<double>::infinity();
        const std::size_t n = order_.size();
        for (std::size_t k = round_ ? 1 : 0; k <= n; ++k) {  // before the k-th
            const bool before = k > 0, after = round_ || k < n;
            double cost = 0;
            if (before) cost += minutes_(order_[k - 1], place);
            if (after && n > 0) cost += minutes_(place, order_[k % n]);
            if (before && after && n > 0) cost -= minutes_(order_[k - 1], order_[k % n]);
            if (cost < least - shorter_by) {
                least = cost;
                best = k;
            }
        }
        order_.insert(order_.begin() + static_cast<std::ptrdiff_t>(best), place);
    }

    std::span<const double> gains_;
    double stop_minutes_;
    bool round_;
    std::size_t start_;
    Table minutes_;
    Order order_;
};

}  // namespace

double naismith_minutes(double length_m, double ascent_m) {
    return 60 * (length_m / metres_an_hour + ascent_m / ascent_metres_an_hour);
}

Leg leg_between(Point from, Point to, const WalkLand& land) {
    Leg leg;
    leg.straight_m = distance(from, to);
    if (land.ways != nullptr) leg.way = land.ways->between(from, to);
    leg.crosses_no_go = land.ways != nullptr && leg.way.empty();
    if (leg.way.empty()) leg.way = {from, to};
    for (std::size_t i = 1; i < leg.way.size(); ++i) leg.length_m += distance(leg.way[i - 1], leg.way[i]);
    leg.ascent_m = ascent_along(leg.way, land.terrain);
    leg.minutes = naismith_minutes(leg.length_m, leg.ascent_m);
    return leg;
}

WalkPlan plan_walk(std::span<const Point> places, std::span<const double> gains, std::span<const std::size_t> order,
                   const WalkLand& land, const WalkOptions& options) {
    Walk walk(places, gains, land, options);
    walk.begin(order);
    if (options.hours) walk.fit_into(*options.hours * 60);
    WalkPlan plan;
    plan.order = walk.stops_in_order();
    std::optional<Point> last = options.from;
    const auto go = [&](Point to) {
        plan.legs.push_back(last ? leg_between(*last, to, land) : Leg{});
        plan.length_m += plan.legs.back().length_m;
        plan.ascent_m += plan.legs.back().ascent_m;
        plan.walk_minutes += plan.legs.back().minutes;
        last = to;
    };
    for (const std::size_t k : plan.order) go(places[k]);
    if (options.from && !plan.order.empty()) go(*options.from);
    for (std::size_t i = 0; i < places.size(); ++i) {
        const bool given = std::find(order.begin(), order.end(), i) != order.end();
        if (given && std::find(plan.order.begin(), plan.order.end(), i) == plan.order.end()) plan.too_far.push_back(i);
    }
    return plan;
}

double distance_to_lines(Point place, std::span<const Line> lines) {
    double best = std::numeric_limits<double>::infinity();
    for (const Line& line : lines) best = std::min(best, nearest_on(line, place).off_m);
    return best;
}

}  // namespace subcrop::publish
