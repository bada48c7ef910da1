// Compares two runs by their records.
//
//     RunChanges changes = changes_since(*history.before, record);
//
// Only what matters: other verdicts, stops added, gone or moved by a metre or more, contacts whose half-width differs
// by a fifth or more. Stops are matched by their ids; contacts by their units and the place of their middle.
#pragma once

#include "publish/loop/run_record.hpp"
#include "subcrop/publish/run_changes.hpp"

namespace subcrop::publish {

/// Records without stops (above `max_recorded`) are compared by their counts.
RunChanges changes_since(const RunRecord& before, const RunRecord& now);

}  // namespace subcrop::publish
