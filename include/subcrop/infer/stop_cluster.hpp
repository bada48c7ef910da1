// Neighbouring stops that contradict the draft beyond any error of contacts: perhaps a body of rock that the draft
// lacks.
#pragma once

#include <cstdint>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/model/stop.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct StopCluster {
    model::UnitIndex drafted = model::no_unit;
    model::UnitIndex like = model::no_unit;  ///< the unit they look like
    std::vector<std::uint32_t> stops;        ///< by distance from their middle, the nearest first
    double radius_m = 0;
    double probability = 0;  ///< that the body exists; at least the probability of its surest stop
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
