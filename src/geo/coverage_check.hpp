// Where polygons leave ground uncovered or cover it twice.
#pragma once

#include <vector>

#include "geo/coverage.hpp"
#include "geo/edge_table.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::geo {

/// Adds a problem for each gap and each overlap, the largest first up to a thousand, and one that sums up the rest.
void report_gaps_and_overlaps(const std::vector<model::MapPolygon>& polygons, const EdgeTable& table,
                              const Coverage& coverage, const UnitMapOptions& options, ProblemLog& problems);

}  // namespace subcrop::geo
