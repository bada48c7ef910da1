// Whether contacts should move. A right map is left as drawn: the displacement is adopted only where it predicts stops
// hidden from it better than the draft does, whose contacts are uncertain by their learnt error.
#pragma once

#include <string>

#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

struct ShiftChoice {
    ShiftField field;        ///< moves nothing where it was refused
    std::string decided_by;  ///< whose hidden word decided: "soil" or "soil and observed bedrock"; empty: not asked
    double amplitude_m = 0;  ///< standard deviation along an axis that was tried; 0: none
    double reach_m = 0;
    double gain = 0;             ///< ln likelihood of hidden stops over the draft as drawn, nats
    double gain_error = 0;       ///< its standard error, from the sums over blocks
    double trace_gain = 0;       ///< ln of how much better it explains the beds' traces than the draft as drawn
    bool beds_followed = false;  ///< traces took part
    bool beds_refused = false;   ///< hidden stops are better explained without them
};

}  // namespace subcrop::infer
