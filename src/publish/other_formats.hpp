// The result layers in other formats, one file a layer, in a folder beside results.gpkg.
#pragma once

#include <filesystem>
#include <vector>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

constexpr const char* folder_of(OutputFormat format) {
    switch (format) {
        case OutputFormat::csv:
            return "csv";
        case OutputFormat::geojson:
            return "geojson";
        case OutputFormat::flatgeobuf:
            return "flatgeobuf";
        case OutputFormat::shapefile:
            return "shapefile";
        case OutputFormat::kml:
            return "kml";
        case OutputFormat::gpx:
            return "gpx";
    }
    return "";
}

/// `results` is the file to read; the format's folder is made in `folder`. The files are put in place with the others.
/// GeoJSON is in degrees (RFC 7946), the others in the working projection. Tables without geometry are CSV; with
/// FlatGeobuf also layers in which a row has no geometry. Shapefiles come with columns.csv, which explains the short
/// names. KML and GPX are in degrees and have only the layers that fit: all rows have a place, and for GPX they are
/// points or lines. `definition` describes the columns. Returns the texts that were too long for the format.
std::vector<CutTexts> write_other_format(const std::filesystem::path& results, const std::filesystem::path& folder,
                                         OutputFormat format, const io::FileDefinition& definition,
                                         io::PendingFiles& together);
/// The same beside `results`, put in place at once.
std::vector<CutTexts> write_other_format(const std::filesystem::path& results, OutputFormat format,
                                         const io::FileDefinition& definition);

/// Every path that writing a format into `folder` may replace or remove.
std::vector<std::filesystem::path> files_written_for(const std::filesystem::path& folder, OutputFormat format,
                                                     const io::FileDefinition& definition);

}  // namespace subcrop::publish
