// The result layers in other formats, one file a layer, in a folder beside results.gpkg.
#pragma once

#include <filesystem>
#include <vector>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

constexpr const char* folder_of(OutputFormat format) {
    switch (format) {
        case OutputFormat::csv: return "csv";
        case OutputFormat::geojson: return "geojson";
        case OutputFormat::flatgeobuf: return "flatgeobuf";
        case OutputFormat::shapefile: return "shapefile";
    }
    return "";
}

/// Each file whole or not at all. GeoJSON is in degrees (RFC 7946), the others in the working projection. Tables without geometry are CSV, and with FlatGeobuf
/// layers of which some row has none. Shapefiles come with columns.csv, which says what each short name stands for. `definition` describes
/// the columns. Returns the texts that the format could not hold whole.
std::vector<CutTexts> write_other_format(const std::filesystem::path& results, OutputFormat format, const io::FileDefinition& definition);

}  // namespace subcrop::publish
