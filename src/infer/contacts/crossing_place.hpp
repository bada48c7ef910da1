// Where along a line a change lies, from the probability of each gap between stops.
#pragma once

#include <span>

namespace subcrop::infer {

/// A gap between two stops and the probability that the change lies in it.
struct GapMass {
    double from_m = 0;
    double to_m = 0;
    double position_sd_m = 0;  ///< standard error of the positions of the stops at its ends
    double mass = 0;
};

/// Median, 5 % and 95 % points, in metres along the line.
struct CrossingPlace {
    double middle = 0;
    double low = 0;
    double high = 0;
};

/// The change is uniformly distributed within its gap. The ends of the gap have the position error. Masses need not sum
/// to one, but at least one must be positive.
CrossingPlace place_crossing(std::span<const GapMass> gaps);

}  // namespace subcrop::infer
