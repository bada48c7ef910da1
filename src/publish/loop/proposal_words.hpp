// A stored proposal as callers of the library see it.
#pragma once

#include "io/decision_file.hpp"
#include "subcrop/publish/next_draft.hpp"

namespace subcrop::publish {

inline DecidedProposal as_decided(const io::DecisionRow& row) {
    return {row.id,   row.what,        row.decision, row.why,         row.decided_on,
            row.note, row.probability, row.hectares, row.stops.size()};
}

}  // namespace subcrop::publish
