// The draft map's polygons as in their source.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

struct MapTable {
    std::vector<model::MapPolygon> polygons;  ///< `unit` is an index into `codes`
    std::vector<std::string> codes;           ///< in order of appearance
    std::optional<geo::Crs> crs;
    Box box;  ///< of the finite vertices, in the source's own system
    /// For each polygon: it is certainly valid. Empty: not checked, because it will be reprojected.
    std::vector<std::uint8_t> surely_valid;
    std::string source;
    std::string unit_column;
    Place place;
};

/// Reads polygons; multipolygons fall into their parts, curves become lines, heights are dropped. Nothing is repaired
/// yet. Throws Error when the source cannot be read or holds no polygons.
MapTable read_map(const SurveyFile& file, ProblemLog& problems);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
