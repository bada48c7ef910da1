// Invented stops along traverses over the invented ground, in the order in which they were walked.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>

#include "bench/invented_ground.hpp"
#include "bench/invented_soil.hpp"

namespace subcrop::bench {

inline constexpr std::size_t stops_in_traverse = 50;

/// How the traverses run.
struct WalkOptions {
    std::size_t stops_in_traverse = bench::stops_in_traverse;
    double turn_rad = 0.3;  ///< standard deviation of a turn from one stop to the next
};

struct InventedStop {
    std::size_t traverse = 0;  ///< from 1
    std::size_t seq = 0;       ///< from 1
    std::string date;          ///< one a traverse
    Point position;            ///< as recorded, with its error
    double position_sd_m = 0;
    std::size_t rock = 0;    ///< unit below the true position
    bool rock_seen = false;  ///< one stop in a hundred
    SoilNote soil;
};

/// Calls `take` for `count` stops. Traverses start on a sheet after another, from south to north, and wander.
void walk(const InventedGround& ground, const InventedSoils& soils, std::size_t count, std::uint64_t seed,
          const std::function<void(const InventedStop&)>& take, const WalkOptions& options = {});

}  // namespace subcrop::bench
