// Where each stop lies on the draft, and where its soil came from.
#pragma once

#include "infer/answer/stop_shares.hpp"
#include "infer/evidence/soil_origins.hpp"

namespace subcrop::infer {

struct Placement {
    StopShares membership;  ///< probability of each unit, by the draft alone
    SoilOrigins origins;
};

}  // namespace subcrop::infer
