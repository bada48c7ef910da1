// Neighbouring stops that no error of contacts explains: perhaps a body of rock that the draft does not have.
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
    std::vector<std::uint32_t> stops;        ///< the one nearest their middle first, then by distance from it
    double radius_m = 0;
    double probability = 0;  ///< that there is such a body: at least that of its surest stop
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
