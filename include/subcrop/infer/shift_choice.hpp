// Whether contacts should move. A right map is left as drawn: the displacement is adopted only where it predicts stops
// hidden from it better than the draft does, whose contacts are uncertain by their learnt error. Where it does not,
// single stretches of contact may still move (answer/stretch_evidence.hpp).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/shift_field.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// A stretch of drafted contact that the stops beside it put elsewhere.
struct MisplacedStretch {
    std::uint32_t contact = 0;  ///< index into UnitMap::contacts()
    Line drafted;               ///< that part of it
    double shift_m = 0;         ///< to the left of the contact's line; mean over what is possible
    double shift_sd_m = 0;
    double log_odds = 0;                    ///< ln odds that it lies elsewhere, by these stops
    double log_odds_without_one = 0;        ///< the least without one group of them
    std::vector<std::uint32_t> stops = {};  ///< survey order; along the contact
};

struct ShiftChoice {
    ShiftField field;        ///< moves nothing where it was refused
    std::string decided_by;  ///< whose hidden word decided: "soil" or "soil and observed bedrock"; empty: not asked
    double amplitude_m = 0;  ///< standard deviation along an axis that was tried; 0: none
    double reach_m = 0;
    double gain = 0;        ///< ln likelihood of hidden stops over the draft as drawn, nats
    double gain_error = 0;  ///< its standard error, from the sums over blocks
    double trace_gain = 0;  ///< ln of how much better it explains the beds' traces than the draft as drawn
    std::vector<MisplacedStretch> stretches =
        {};                      ///< the field moves these alone; empty: the map as a whole, or nothing
    bool beds_followed = false;  ///< traces took part
    bool beds_refused = false;   ///< hidden stops are better explained without them
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
