// Which of the suggested stops fit in a day, and in which order to visit them.
//
// Time on foot by Naismith's rule (Naismith 1892, Scottish Mountaineering Club Journal 2:136, from memory): an hour for
// every three miles, and an hour more for every 2,000 feet of ascent, along straight lines over the terrain, which bend
// only round no-go areas. Real paths are longer.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "geo/way_round.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/terrain.hpp"

namespace subcrop::publish {

struct Leg {
    double length_m = 0, ascent_m = 0, minutes = 0;
    Line way = {};               ///< with both ends; empty: there is no leg
    double straight_m = 0;       ///< less than the length if the way bends round no-go areas
    bool crosses_no_go = false;  ///< no way round was found: the leg is straight
};

double naismith_minutes(double length_m, double ascent_m);

/// The land to be walked over. Both may be null: level, and no area is closed.
struct WalkLand {
    const geo::Terrain* terrain = nullptr;
    const geo::WaysRound* ways = nullptr;
};

/// Straight from one place to another, or round no-go areas.
Leg leg_between(Point from, Point to, const WalkLand& land);

struct WalkOptions {
    std::optional<Point> from =
        {};  ///< where the walk starts and ends; absent: it goes from the first place of `order` to the last
    std::optional<double> hours = {};  ///< walking and stopping
    double stop_minutes = 20;
};

struct WalkPlan {
    std::vector<std::size_t> order;    ///< of the places, in walking order
    std::vector<Leg> legs;             ///< to each of them; with a start one more, back to it
    std::vector<std::size_t> too_far;  ///< places that do not fit in the day, in their own order
    double length_m = 0, ascent_m = 0, walk_minutes = 0;
};

/// `order`: an open walk past the places; it is kept if there is no start. With a start the walk is a round, shortened
/// by 2-opt and Or-opt. If the day is too short, places with the least gain a minute are removed first. Then places
/// that still fit are added again.
WalkPlan plan_walk(std::span<const Point> places, std::span<const double> gains, std::span<const std::size_t> order,
                   const WalkLand& land, const WalkOptions& options);

/// Metres from a place to the nearest of the lines; infinity if there are none.
double distance_to_lines(Point place, std::span<const Line> lines);

}  // namespace subcrop::publish
