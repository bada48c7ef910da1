// The survey file: JSON that names the sources of a survey and how to read them. Unknown keys are errors with the key's
// path and the nearest valid key.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// One table or layer. `columns` maps our names to theirs; a name left out is its own. In horizon columns of the stop
/// table '#' stands for the number of the horizon: "h#_top".
struct SourceDescription {
    std::string source;  ///< a path relative to the survey file, or any OGR connection string
    std::string layer;   ///< empty: the only layer
    std::string crs;     ///< empty: the layer's own
    std::string x;       ///< CSV and spreadsheets: column of the x (east, longitude) coordinate
    std::string y;
    std::string zone;  ///< column of the UTM zone of x and y; empty: all are in `crs`
    std::map<std::string, std::string> columns;
    std::map<std::string, std::string> units;  ///< of the columns by our names, such as "ft"; a name left out has ours
    std::size_t header_row = 1;                ///< CSV and spreadsheets: the row that has the names of the columns
    std::string where;  ///< condition in OGR's SQL on the layer's own columns; other rows are not read
};

struct MapDescription : SourceDescription {
    std::optional<double> contact_sd_m;  ///< standard error of a drafted contact
};

struct TerrainDescription : SourceDescription {
    std::string vertical_unit;  ///< "m", "ft" (0.3048 m) or "us-ft" (1200/3937 m); empty: the raster's own
};

struct TracksDescription : SourceDescription {
    std::optional<double> within_m;  ///< how far from a track a next stop may lie
};

struct WaypointsDescription : SourceDescription {
    /// Hours by which the camera's clock and the times of stops are ahead of UTC. If stated, places may come from the
    /// track, by time.
    std::optional<double> utc_offset_h;
};

struct PhotosDescription {
    std::string folder;    ///< relative to the survey file, as sources are
    double within_m = 50;  ///< how far from its stop a photograph without a stop's name may have been taken
};

struct SurveyFile {
    std::filesystem::path path;
    std::string title;
    std::string credits;  ///< for the map sheet: who mapped, when, on what base; may be empty
    std::string crs;      ///< working projection; empty: the map's if projected in metres, else the UTM zone
    SourceDescription stops;
    std::optional<SourceDescription> horizons;
    std::optional<MapDescription> map;
    std::optional<SourceDescription> legend;
    std::optional<TerrainDescription> terrain;  ///< a raster of heights
    std::optional<SourceDescription> boreholes;
    std::optional<SourceDescription> borehole_logs;  ///< horizons of the boreholes
    std::optional<SourceDescription> attitudes;      ///< strikes and dips
    std::optional<SourceDescription> plants;         ///< the user's names of plants: `written`, `taxon`
    std::optional<SourceDescription> names;          ///< and of rocks, textures and so on: `kind`, `written`, `meant`
    std::optional<SourceDescription> parent_material_weights;  ///< `cue`, `word` and a weight for each kind of material
    std::optional<WaypointsDescription> waypoints;  ///< from a receiver: places of stops without one, found by name
    std::optional<PhotosDescription> photos;
    std::optional<TracksDescription> tracks;  ///< lines to which next stops keep
    std::optional<SourceDescription> no_go;   ///< polygons that next stops keep out of
    std::vector<model::EvidenceDefinition> evidence;
    std::vector<std::string> carry;  ///< columns of the stop table that `stop_fit` carries
    model::Settings settings;
    std::filesystem::path results;  ///< folder to write; absolute, or relative to the survey file's folder when read
};

/// Throws Error with the key's path for anything invalid.
SurveyFile read_survey_file(const std::filesystem::path& path);

/// Path of a source as GDAL wants it: relative paths are taken from the survey file's folder.
std::string resolved_source(const SurveyFile& file, const std::string& source);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
