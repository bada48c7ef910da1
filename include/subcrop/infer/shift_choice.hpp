// Whether contacts should move. A right map is left as drawn. The displacement is adopted only if it predicts hidden
// stops better than the draft, blurred by the learnt error of its contacts. Otherwise single stretches of contact may
// still move (answer/stretch_evidence.hpp).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/infer/shift_field.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// A stretch of drafted contact that is misplaced, by the stops beside it.
struct MisplacedStretch {
    std::uint32_t contact = 0;  ///< index into UnitMap::contacts()
    Line drafted;               ///< that part of it
    double shift_m = 0;         ///< to the left of the contact's line; posterior mean
    double shift_sd_m = 0;
    double log_odds = 0;                    ///< ln odds that it is misplaced, by these stops
    double log_odds_without_one = 0;        ///< the smallest ln odds with one group of stops left out
    std::vector<std::uint32_t> stops = {};  ///< survey order; along the contact
};

struct ShiftChoice {
    ShiftField field;        ///< moves nothing if it was refused
    std::string decided_by;  ///< hidden evidence that decided: "soil" or "soil and observed bedrock"; empty: not tried
    double amplitude_m = 0;  ///< standard deviation along an axis that was tried; 0: none
    double reach_m = 0;
    double gain = 0;        ///< ln likelihood of hidden stops, minus that of the draft as drawn; nats
    double gain_error = 0;  ///< its standard error, from the sums over blocks
    double trace_gain = 0;  ///< ln likelihood ratio of the beds' traces against the draft as drawn
    std::vector<MisplacedStretch> stretches = {};  ///< the field moves only these; empty: the whole map, or nothing
    bool beds_followed = false;                    ///< traces were used
    bool beds_refused = false;                     ///< hidden stops are better explained without them
};

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
