// Gaps between polygons, and overlaps.
#pragma once

#include <cstdint>
#include <vector>

#include "geo/coverage.hpp"
#include "geo/edge_table.hpp"
#include "geo/polygon_store.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::geo {

/// Adds a problem for each gap and each overlap, the largest first up to a thousand, and one that sums up the rest.
/// Returns for each polygon whether it may overlap another: 0 no, 1 perhaps.
std::vector<std::uint8_t> report_gaps_and_overlaps(const PolygonStore& polygons, const EdgeTable& table,
                                                   const Coverage& coverage, const UnitMapOptions& options,
                                                   ProblemLog& problems);

}  // namespace subcrop::geo
