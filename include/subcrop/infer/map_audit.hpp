// What the field book and the draft map say against each other before anything is computed.
#pragma once

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Bedrock observed inside a polygon of another unit, farther from every contact than the errors of position and
/// contact allow. Each becomes a note: the draft may be wrong there.
void audit_rock_seen(const model::Survey& survey, const geo::UnitMap& map, ProblemLog& problems);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
