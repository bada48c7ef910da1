// Writes layers into one GeoPackage, completely or not at all.
//
//     LayerDefinition places{.name = "places", .geometry = GeometryKind::point,
//                            .fields = {{.name = "place"}}};
//     LayerWriter writer("results/results.gpkg", survey.crs_wkt, {.layers = {places}});
//     RowBatch rows;
//     rows.point({500000, 5500000}).text("A").end_row();
//     writer.append(0, std::move(rows));
//     writer.finish();  // only now does results.gpkg change
//
// Rows go to a temporary file beside the target, which takes the target's place when `finish` returns: a reader sees
// the old file or the new one. Without `finish` the temporary is removed and the old file stays as it was. With
// SOURCE_DATE_EPOCH set the same rows give the same bytes.
//
// The writer inserts on its own thread while the caller prepares the next batch. Batches may be prepared on any thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

enum class GeometryKind : std::uint8_t { none, point, line, multipolygon };
enum class FieldType : std::uint8_t { text, integer, real, boolean, date };

struct CodedValue {
    std::string code = {};
    std::string meaning = {};
};

/// The values a column may hold: a list of codes, a closed range of numbers, or texts of a pattern.
struct Domain {
    struct Range {
        double min = 0;
        double max = 0;
    };
    std::string name = {};               ///< unique in the file
    std::vector<CodedValue> codes = {};  ///< each code once; empty for a range or pattern
    std::optional<Range> range = {};
    std::string pattern = {};  ///< of SQLite's GLOB: "*[ABC]*"
};

struct FieldDefinition {
    std::string name = {};
    FieldType type = FieldType::text;
    std::string description = {};  ///< what it says, with its unit
    std::string domain = {};       ///< name of a Domain; empty: any value
};

struct LayerDefinition {
    std::string name = {};
    std::string title = {};  ///< unique in the file; empty: the name
    std::string description = {};
    GeometryKind geometry = GeometryKind::none;
    std::vector<FieldDefinition> fields = {};
};

struct FileDefinition {
    std::vector<Domain> domains = {};
    std::vector<LayerDefinition> layers = {};
    std::size_t expected_rows = 0;  ///< of all layers together, roughly: a large file gets larger pages
};

/// Rows of one layer, encoded and ready to insert. A row is its geometry where the layer has one (or `absent`), then
/// one value for each field in the layer's order, then `end_row`. Nothing in it refers to the caller's data.
class RowBatch {
public:
    RowBatch& point(Point place);
    /// At least two points.
    RowBatch& line(const Line& points);
    /// At least one polygon; rings closed.
    RowBatch& multipolygon(const MultiPolygon& polygons);

    /// Bytes that are not UTF-8 are replaced by U+FFFD.
    RowBatch& text(std::string_view value);
    RowBatch& integer(std::int64_t value);
    /// A value that is not finite is written as absent.
    RowBatch& real(double value);
    RowBatch& boolean(bool value);
    /// NULL, for a geometry or for any type of field.
    RowBatch& absent();

    /// `text`, but absent if empty.
    RowBatch& text_or_absent(std::string_view value) { return value.empty() ? absent() : text(value); }
    RowBatch& real_or_absent(const std::optional<double>& value) { return value ? real(*value) : absent(); }

    void end_row() { ++rows_; }
    std::size_t rows() const { return rows_; }

private:
    friend class LayerWriter;
    friend class BatchTable;

    enum class Kind : std::uint8_t { absent, integer, real, text, geometry };
    struct Cell {
        Kind kind = Kind::absent;
        std::uint32_t length = 0;  ///< bytes of a text or geometry
        union {
            std::int64_t integer = 0;
            double real;
            std::uint64_t offset;  ///< of a text or geometry in bytes_
        };
    };
    struct RowBox {
        std::uint64_t row = 0;
        Box box;
    };

    RowBatch& geometry_from(std::size_t first_byte, const Box& box);

    std::vector<Cell> cells_;
    std::string bytes_;
    std::vector<RowBox> boxes_;  ///< rows that have a geometry
    std::size_t rows_ = 0;
};

class PendingFiles;

class LayerWriter {
public:
    /// Creates the temporary file and its empty layers. `crs_wkt`: WKT of the coordinate reference system of every
    /// geometry, x to the east; empty: an undefined one. A missing target folder is made. Files that a killed run left
    /// beside the target are removed. Throws Error if the folder cannot be written, or if another run is writing the
    /// same target.
    LayerWriter(std::filesystem::path target, const std::string& crs_wkt, FileDefinition definition);
    LayerWriter(const LayerWriter&) = delete;
    LayerWriter& operator=(const LayerWriter&) = delete;
    /// Without `finish`: removes the temporary.
    ~LayerWriter();

    /// Adds rows to layer number `layer`, after those of earlier calls. Waits while the writer is far behind. Throws
    /// the Error of an earlier batch, such as a full disk. For one thread at a time.
    void append(std::size_t layer, RowBatch batch);

    /// A JSON text about the whole file, kept in its metadata table.
    void describe(std::string json);

    /// Indexes, closes, syncs and puts the file in the target's place. Throws Error, and keeps the old file, if that is
    /// impossible.
    void finish();
    /// Indexes and closes the file, which is put in place with the others. Returns where it stands until then.
    std::filesystem::path finish(PendingFiles& together);

private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace subcrop::io
SUBCROP_EXPORT_END
