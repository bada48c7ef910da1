// A raster of heights becomes the terrain of a survey: in the working projection, in metres, no larger than is needed.
#pragma once

#include <optional>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/terrain.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

struct TerrainRead {
    std::optional<geo::Terrain> terrain;  ///< absent if it cannot be used; a problem says why
    std::string crs_wkt;                  ///< in which it is
};

/// `crs_wkt`: the projection wanted, in metres; empty: the raster's own, an Error where that is not in metres.
/// `wanted`: nothing outside is read; absent: all. A raster in another system, turned, or of oblong cells is resampled
/// bilinearly, to cells of the same size. Otherwise cells are taken unchanged. Cells without data, and
/// heights that do not occur on Earth become voids. Heights in feet are brought to metres. Throws Error if the raster
/// cannot be opened, is no raster of heights, or has no coordinate reference system.
TerrainRead read_terrain(const SurveyFile& file, const TerrainDescription& description, const std::string& crs_wkt,
                         const std::optional<Box>& wanted, unsigned threads, ProblemLog& problems);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
