// Contradictions between field book and draft map, found before anything is computed.
#pragma once

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

/// Notes bedrock that was observed inside a polygon of another unit. It must be farther from every contact than the
/// errors of position and contact allow. The draft may be wrong there.
void audit_rock_seen(const model::Survey& survey, const geo::UnitMap& map, ProblemLog& problems);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
