// The result layers in other formats, one file a layer, in a folder beside results.gpkg.
#pragma once

#include <filesystem>

#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

constexpr const char* folder_of(OutputFormat format) {
    return format == OutputFormat::csv ? "csv" : format == OutputFormat::geojson ? "geojson" : "flatgeobuf";
}

/// Each file whole or not at all. GeoJSON is in degrees (RFC 7946), the others in the working projection. Tables without geometry are CSV, and with FlatGeobuf
/// layers of which some row has none.
void write_other_format(const std::filesystem::path& results, OutputFormat format);

}  // namespace subcrop::publish
