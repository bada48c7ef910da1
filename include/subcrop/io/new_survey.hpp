// An empty survey to fill in: survey file, field book, legend and draft map, with pick lists for forms.
//
//     auto files = write_new_survey({.folder = "hesk", .title = "Hesk valley"});
//     // hesk/survey.json, field_book.gpkg (stops, horizons, boreholes, borehole_logs, attitudes, legend),
//     // draft_map.gpkg (units), columns.txt
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

struct NewSurvey {
    std::filesystem::path folder;
    std::string title = {};         ///< empty: the folder's name
    std::string crs = "EPSG:4326";  ///< of stops and draft map
    bool csv = false;               ///< tables of text (stops.csv and so on) instead of a GeoPackage
};

/// Writes the files and returns them, the survey file first. Makes a missing folder. Throws Error, and writes nothing,
/// if one of the files exists already or the folder cannot be written.
std::vector<std::filesystem::path> write_new_survey(const NewSurvey& wanted);

/// A source of a survey that has no rows yet.
struct EmptySource {
    std::string key;      ///< of the survey file: "stops"
    std::string source;   ///< as problems name it
    bool needed = false;  ///< nothing can be judged without it
};

/// Sources without rows, the needed ones first. Throws Error if one cannot be opened.
std::vector<EmptySource> find_empty_sources(const SurveyFile& file);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
