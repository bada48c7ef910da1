// Result layers as shapefiles (ESRI Shapefile Technical Description, July 1998, and dBASE III tables).
//
// Limits of such a table are always reported. Column names have ten characters (columns.csv explains them). A text has
// 254 bytes (longer ones end in "..." and are counted). A number has 15 decimals.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/survey_run.hpp"

class OGRLayer;

namespace subcrop::publish {

/// Endings of the files that a .shp needs, and of indexes that a GIS makes for it.
extern const std::vector<std::string> shapefile_parts, shapefile_indexes;

/// Its files are put in place with the others.
class ShapefileFolder {
public:
    /// `definition` describes the columns. Writes nothing yet.
    ShapefileFolder(std::filesystem::path folder, const io::FileDefinition& definition, io::PendingFiles& together)
        : folder_(std::move(folder)), definition_(definition), together_(together) {}

    /// NAME.shp, .shx, .dbf, .cpg (UTF-8) and, where the layer has a coordinate reference system, .prj. An older index
    /// is removed. Column fid has the feature id. Throws Error if the file cannot be written or would exceed 2 GB.
    void write(OGRLayer& layer);
    /// columns.csv: for each column of each shapefile its name in results.gpkg, its description, and how many of its
    /// texts were cut.
    void write_columns();
    /// In layer and column order.
    std::vector<CutTexts> cut_texts() const;

private:
    struct Column {
        std::string layer, short_name, name;
        std::size_t cut = 0;
    };
    std::filesystem::path folder_;
    const io::FileDefinition& definition_;
    io::PendingFiles& together_;
    std::vector<Column> columns_;
};

/// The longest text of a dBASE field.
inline constexpr std::size_t longest_shapefile_text = 254;

/// A text that fits into this number of bytes: itself, or its beginning (whole UTF-8 characters) and "...".
std::string cut_text(const std::string& text, std::size_t bytes);

}  // namespace subcrop::publish
