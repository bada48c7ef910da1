// Result layers as shapefiles (ESRI Shapefile Technical Description, July 1998, and dBASE III tables).
//
// What such a table cannot hold is told, never lost in silence: column names have ten characters (columns.csv says
// which stands for what), a text 254 bytes (longer ones end in "..." and are counted), a number 15 decimals.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/io/layer_writer.hpp"
#include "subcrop/publish/survey_run.hpp"

class OGRLayer;

namespace subcrop::publish {

/// Endings of the files without which a .shp is nothing, and of indexes that a GIS makes of it.
extern const std::vector<std::string> shapefile_parts, shapefile_indexes;

/// Its files are put in place with the others.
class ShapefileFolder {
public:
    /// `definition` describes the columns. Writes nothing yet.
    ShapefileFolder(std::filesystem::path folder, const io::FileDefinition& definition, io::PendingFiles& together)
        : folder_(std::move(folder)), definition_(definition), together_(together) {}

    /// NAME.shp, .shx, .dbf, .cpg (UTF-8) and, where the layer has a coordinate reference system, .prj. An index of an
    /// older one goes. Column fid holds the feature id. Throws Error where it cannot be written or would take more than
    /// 2 GB.
    void write(OGRLayer& layer);
    /// columns.csv: what each column of each shapefile is called in results.gpkg, what it says and how many of its
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

/// A text that fits into so many bytes: itself, or its beginning, whole characters of UTF-8, and "...".
std::string cut_text(const std::string& text, std::size_t bytes);

}  // namespace subcrop::publish
