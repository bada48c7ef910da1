// Where every stop lies on the draft, and where its soil came from.
#pragma once

#include <vector>

#include "soil_origins.hpp"

namespace subcrop::infer {

struct Placement {
    std::vector<float> membership;  ///< stops x units: probability of each unit from the draft alone
    SoilOrigins origins;
};

}  // namespace subcrop::infer
