#include "subcrop/io/layer_writer.hpp"

#include <cpl_conv.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <cassert>
#include <condition_variable>
#include <cstring>
#include <deque>
#include <exception>
#include <future>
#include <mutex>
#include <thread>
#include <utility>

#include "io/batch_table.hpp"
#include "io/gdal_support.hpp"
#include "io/packed_rtree.hpp"
#include "io/pending_file.hpp"
#include "io/run_clock.hpp"
#include "io/sqlite_file.hpp"

namespace subcrop::io {

namespace {

/// Batches that may wait for the writing thread before `append` does.
constexpr std::size_t queue_limit = 32;

/// "2026-01-31T12:00:00.000Z"
std::string time_stamp() { return utc_text(run_time(), "%Y-%m-%dT%H:%M:%S.000Z"); }

/// Bytes after which the system is asked to begin writing them to the disk.
constexpr std::size_t written_back_at_once = std::size_t{32} << 20;

/// From this many rows on, pages have 16 kB instead of 4. A quarter of the write calls then saves 0.5 s of 9.4 on a
/// million stops. Small files would only grow.
constexpr std::size_t rows_of_a_large_file = 100'000;

/// An option of GDAL's for this thread, until the end of the block.
class GdalOption {
public:
    GdalOption(const char* key, const std::string& value) : key_(key) {
        CPLSetThreadLocalConfigOption(key, value.c_str());
    }
    ~GdalOption() { CPLSetThreadLocalConfigOption(key_, nullptr); }
    GdalOption(const GdalOption&) = delete;
    GdalOption& operator=(const GdalOption&) = delete;

private:
    const char* key_;
};

OGRwkbGeometryType gdal_type(GeometryKind kind) {
    switch (kind) {
        case GeometryKind::none:
            return wkbNone;
        case GeometryKind::point:
            return wkbPoint;
        case GeometryKind::line:
            return wkbLineString;
        case GeometryKind::multipolygon:
            return wkbMultiPolygon;
    }
    return wkbNone;
}

void set_type(OGRFieldDefn& gdal, FieldType type) {
    switch (type) {
        case FieldType::text:
            gdal.SetType(OFTString);
            break;
        case FieldType::integer:
            gdal.SetType(OFTInteger64);
            break;
        case FieldType::real:
            gdal.SetType(OFTReal);
            break;
        case FieldType::date:
            gdal.SetType(OFTDate);
            break;
        case FieldType::boolean:
            gdal.SetType(OFTInteger);
            gdal.SetSubType(OFSTBoolean);
            break;
    }
}

void create_layers(const std::filesystem::path& file, const std::filesystem::path& shown, const std::string& crs_wkt,
                   const FileDefinition& definition, const std::string& stamp) {
    start_gdal();
    GdalMessages messages;
    const GdalOption date("OGR_CURRENT_DATE", stamp);
    std::optional<GdalOption> pages;
    if (definition.expected_rows >= rows_of_a_large_file) pages.emplace("OGR_SQLITE_PRAGMA", "page_size=16384");
    auto fail = [&]() -> Error {
        std::string detail = messages.last();
        // GDAL quotes the whole statement that failed before it says why.
        if (const auto why = detail.rfind(") failed: "); why != std::string::npos) detail.erase(0, why + 10);
        return write_failure(shown, detail, 0, detail.find("disk is full") != std::string::npos);
    };
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
    if (driver == nullptr) {
        throw Error(file_place(shown), "this installation of GDAL cannot write GeoPackages",
                    "Install GDAL with its GPKG driver.");
    }
    OGRSpatialReference crs;
    if (!crs_wkt.empty() && crs.importFromWkt(crs_wkt.c_str()) != OGRERR_NONE) {
        throw Error(file_place(shown), "GDAL cannot read the coordinate reference system to be written");
    }
    crs.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);

    const GDALDatasetUniquePtr dataset(driver->Create(file.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
    if (!dataset) throw fail();
    for (const LayerDefinition& layer : definition.layers) {
        CPLStringList options;
        options.SetNameValue("IDENTIFIER", layer.title.empty() ? layer.name.c_str() : layer.title.c_str());
        options.SetNameValue("DESCRIPTION", layer.description.c_str());
        const bool located = layer.geometry != GeometryKind::none;
        OGRLayer* created = dataset->CreateLayer(layer.name.c_str(), located && !crs_wkt.empty() ? &crs : nullptr,
                                                 gdal_type(layer.geometry), options.List());
        if (created == nullptr) throw fail();
        for (const FieldDefinition& field : layer.fields) {
            OGRFieldDefn gdal(field.name.c_str(), OFTString);
            set_type(gdal, field.type);
            if (created->CreateField(&gdal) != OGRERR_NONE) throw fail();
        }
    }
    messages.clear();
    dataset->FlushCache(false);  // closing reports nothing
    if (messages.failures() > 0) throw fail();
}

/// The part of the Schema extension (OGC 12-128r15, annex F.9) that GDAL 3.6 does not write: descriptions of columns;
/// and its domains, which are then named by the same rows.
void write_schema(SqliteFile& file, const FileDefinition& definition) {
    file.run(
        "CREATE TABLE gpkg_data_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, "
        "description TEXT, mime_type TEXT, constraint_name TEXT, CONSTRAINT pk_gdc PRIMARY KEY (table_name, "
        "column_name), "
        "CONSTRAINT gdc_tn UNIQUE (table_name, name));"
        "CREATE TABLE gpkg_data_column_constraints (constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, "
        "value TEXT, "
        "min NUMERIC, min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT, "
        "CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value));"
        "INSERT INTO gpkg_extensions VALUES "
        "('gpkg_data_columns', NULL, 'gpkg_schema', 'http://www.geopackage.org/spec121/#extension_schema', "
        "'read-write'),"
        "('gpkg_data_column_constraints', NULL, 'gpkg_schema', 'http://www.geopackage.org/spec121/#extension_schema', "
        "'read-write')");
    SqliteStatement column = file.prepare(
        "INSERT INTO gpkg_data_columns (table_name, column_name, description, constraint_name) VALUES (?, ?, ?, ?)");
    for (const LayerDefinition& layer : definition.layers) {
        for (const FieldDefinition& field : layer.fields) {
            column.bind(1, layer.name).bind(2, field.name).bind(3, field.description);
            if (field.domain.empty())
                column.bind_null(4);
            else
                column.bind(4, field.domain);
            column.run();
        }
    }
    SqliteStatement code = file.prepare(
        "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, value, description) "
        "VALUES (?, 'enum', ?, ?)");
    for (const Domain& domain : definition.domains) {
        for (const CodedValue& value : domain.codes)
            code.bind(1, domain.name).bind(2, value.code).bind(3, value.meaning).run();
        if (domain.range) {
            file.prepare(
                    "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, min, "
                    "min_is_inclusive, max, max_is_inclusive) VALUES (?, 'range', ?, 1, ?, 1)")
                .bind(1, domain.name)
                .bind(2, domain.range->min)
                .bind(3, domain.range->max)
                .run();
        }
        if (!domain.pattern.empty()) {
            file.prepare(
                    "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, value) VALUES (?, "
                    "'glob', ?)")
                .bind(1, domain.name)
                .bind(2, domain.pattern)
                .run();
        }
    }
}

/// The Metadata extension (OGC 12-128r15, annex F.8), with one document about the file.
void write_metadata(SqliteFile& file, const std::string& json, const std::string& stamp) {
    file.run(
        "CREATE TABLE gpkg_metadata (id INTEGER CONSTRAINT m_pk PRIMARY KEY ASC NOT NULL, md_scope TEXT NOT NULL "
        "DEFAULT "
        "'dataset', md_standard_uri TEXT NOT NULL, mime_type TEXT NOT NULL DEFAULT 'text/xml', metadata TEXT NOT NULL "
        "DEFAULT '');"
        "CREATE TABLE gpkg_metadata_reference (reference_scope TEXT NOT NULL, table_name TEXT, column_name TEXT, "
        "row_id_value INTEGER, timestamp DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), "
        "md_file_id INTEGER NOT NULL, md_parent_id INTEGER, "
        "CONSTRAINT crmr_mfi_fk FOREIGN KEY (md_file_id) REFERENCES gpkg_metadata(id), "
        "CONSTRAINT crmr_mpi_fk FOREIGN KEY (md_parent_id) REFERENCES gpkg_metadata(id));"
        "INSERT INTO gpkg_extensions VALUES "
        "('gpkg_metadata', NULL, 'gpkg_metadata', 'http://www.geopackage.org/spec121/#extension_metadata', "
        "'read-write'),"
        "('gpkg_metadata_reference', NULL, 'gpkg_metadata', 'http://www.geopackage.org/spec121/#extension_metadata', "
        "'read-write')");
    file.prepare("INSERT INTO gpkg_metadata VALUES (1, 'dataset', 'urn:subcrop:run', 'application/json', ?)")
        .bind(1, json)
        .run();
    file.prepare("INSERT INTO gpkg_metadata_reference VALUES ('geopackage', NULL, NULL, NULL, ?, 1, NULL)")
        .bind(1, stamp)
        .run();
}

struct Trigger {
    std::string name;
    std::string sql;
};

/// What is kept of a layer while its rows come in.
struct LayerState {
    std::size_t columns = 0;  ///< values of a row, its geometry included
    SqliteStatement insert;
    std::int64_t rows = 0;
    Box extent;
    std::vector<IndexEntry> index;
    std::future<std::vector<IndexEntry>> sorted_index;  ///< where rows of another layer have come since

    void start_sorting() {
        if (index.empty() || sorted_index.valid()) return;
        sorted_index = std::async(std::launch::async, [entries = std::exchange(index, {})]() mutable {
            sort_along_curve(entries);
            return std::move(entries);
        });
    }
    /// More rows are to come, or all have.
    void stop_sorting() {
        if (sorted_index.valid()) index = sorted_index.get();
    }
};

}  // namespace

struct LayerWriter::State {
    State(std::filesystem::path target, const std::string& crs_wkt, FileDefinition file_definition);
    ~State() { stop(); }

    void work();
    void stop();
    void insert(LayerState& layer, RowBatch& batch);
    void drop_triggers();
    void check_failure();

    FileDefinition definition;
    std::string stamp;
    std::string json;
    std::unique_ptr<PendingFile> pending;
    std::unique_ptr<BatchTable> batch_table;  ///< outlives the connection that reads it
    std::unique_ptr<SqliteFile> file;
    std::int32_t srs_id = 0;
    std::size_t since_written_back = 0;
    std::vector<Trigger> triggers;
    std::vector<LayerState> layers;

    std::mutex mutex;
    std::condition_variable changed;
    std::deque<std::pair<std::size_t, RowBatch>> queue;
    bool closing = false;
    std::exception_ptr failure;
    std::thread worker;
};

LayerWriter::State::State(std::filesystem::path target, const std::string& crs_wkt, FileDefinition file_definition)
    : definition(std::move(file_definition)),
      stamp(time_stamp()),
      pending(std::make_unique<PendingFile>(std::move(target))) {
    create_layers(pending->temporary(), pending->target(), crs_wkt, definition, stamp);
    pending->lock();
    file = std::make_unique<SqliteFile>(pending->temporary(), pending->target());
    // Nobody else sees the temporary and a broken one is thrown away, so SQLite need not guard it.
    file->run(
        "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA locking_mode = EXCLUSIVE; "
        "PRAGMA cache_size = -16384; PRAGMA temp_store = MEMORY; BEGIN");
    file->run(
        "CREATE TABLE IF NOT EXISTS gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, "
        "definition TEXT NOT NULL, scope TEXT NOT NULL, "
        "CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name))");
    drop_triggers();
    write_schema(*file, definition);
    SqliteStatement srs = file->prepare("SELECT srs_id FROM gpkg_geometry_columns LIMIT 1");
    if (srs.step()) srs_id = static_cast<std::int32_t>(srs.integer(0));
    std::size_t max_columns = 2;  // the index has two
    for (const LayerDefinition& layer : definition.layers) max_columns = std::max(max_columns, layer.fields.size() + 1);
    batch_table = std::make_unique<BatchTable>(file->handle(), max_columns);
    for (const LayerDefinition& layer : definition.layers) {
        LayerState& state = layers.emplace_back();
        std::string names = "fid", values = "rowid + ?";
        auto add = [&](const std::string& column) {
            names += ", " + quoted_name(column);
            values += ", c" + std::to_string(state.columns++);
        };
        if (layer.geometry != GeometryKind::none) add("geom");
        for (const FieldDefinition& field : layer.fields) add(field.name);
        state.insert = file->prepare("INSERT INTO " + quoted_name(layer.name) + " (" + names + ") SELECT " + values +
                                     " FROM batch");
    }
    worker = std::thread([this] { work(); });
}

// GDAL's triggers keep index and counts right for later edits. They call functions that only GDAL has, and would cost
// more than the rows: they are taken off while the rows come in and put back as they were.
void LayerWriter::State::drop_triggers() {
    for (const LayerDefinition& layer : definition.layers) {
        SqliteStatement select =
            file->prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ? ORDER BY rowid");
        select.bind(1, layer.name);
        while (select.step()) triggers.push_back({select.text(0), select.text(1)});
    }
    for (const Trigger& trigger : triggers) file->run("DROP TRIGGER " + quoted_name(trigger.name));
}

void LayerWriter::State::insert(LayerState& layer, RowBatch& batch) {
    assert(batch.cells_.size() == batch.rows_ * layer.columns);
    const std::int64_t first = layer.rows + 1;
    for (LayerState& other : layers) {
        if (&other != &layer) other.start_sorting();
    }
    layer.stop_sorting();
    for (const RowBatch::RowBox& box : batch.boxes_) {  // a row's geometry is its first value
        const std::size_t begin = batch.cells_[box.row * layer.columns].offset;
        std::memcpy(batch.bytes_.data() + begin + 4, &srs_id, sizeof srs_id);
    }
    batch_table->show(batch, layer.columns);
    layer.insert.bind(1, first).run();
    for (const RowBatch::RowBox& box : batch.boxes_) {
        layer.extent.add(box.box);
        layer.index.push_back(index_entry(first + static_cast<std::int64_t>(box.row), box.box));
    }
    layer.rows += static_cast<std::int64_t>(batch.rows_);
    since_written_back += batch.bytes_.size();
    if (since_written_back < written_back_at_once) return;
    since_written_back = 0;
    pending->start_writing_back();
}

void LayerWriter::State::work() {
    std::unique_lock lock(mutex);
    for (;;) {
        changed.wait(lock, [this] { return closing || !queue.empty(); });
        if (queue.empty()) return;
        auto [layer, batch] = std::move(queue.front());
        queue.pop_front();
        changed.notify_all();
        if (failure) continue;
        lock.unlock();
        std::exception_ptr caught;
        try {
            insert(layers[layer], batch);
        } catch (...) {
            caught = std::current_exception();
        }
        lock.lock();
        if (caught) failure = caught;
    }
}

void LayerWriter::State::stop() {
    {
        const std::scoped_lock lock(mutex);
        closing = true;
    }
    changed.notify_all();
    if (worker.joinable()) worker.join();
}

void LayerWriter::State::check_failure() {
    if (failure) std::rethrow_exception(failure);
}

LayerWriter::LayerWriter(std::filesystem::path target, const std::string& crs_wkt, FileDefinition definition)
    : state_(std::make_unique<State>(std::move(target), crs_wkt, std::move(definition))) {}

LayerWriter::~LayerWriter() {
    if (!state_) return;
    {
        const std::scoped_lock lock(state_->mutex);
        state_->queue.clear();  // nobody wants these rows any more
    }
}

void LayerWriter::append(std::size_t layer, RowBatch batch) {
    assert(layer < state_->layers.size());
    if (batch.rows() == 0) return;
    {
        std::unique_lock lock(state_->mutex);
        state_->changed.wait(lock, [this] { return state_->queue.size() < queue_limit || state_->failure; });
        state_->check_failure();
        state_->queue.emplace_back(layer, std::move(batch));
    }
    state_->changed.notify_all();
}

void LayerWriter::describe(std::string json) { state_->json = std::move(json); }

void LayerWriter::finish() {
    PendingFiles alone;
    finish(alone);
    alone.put_in_place();
}

std::filesystem::path LayerWriter::finish(PendingFiles& together) {
    State& state = *state_;
    state.stop();
    state.check_failure();
    SqliteFile& file = *state.file;
    for (std::size_t i = 0; i < state.layers.size(); ++i) {
        const LayerDefinition& definition = state.definition.layers[i];
        LayerState& layer = state.layers[i];
        layer.insert = {};
        if (definition.geometry != GeometryKind::none) {
            const bool sorted = layer.sorted_index.valid();
            layer.stop_sorting();
            if (!sorted) sort_along_curve(layer.index);
            fill_packed(file, *state.batch_table, "rtree_" + definition.name + "_geom", std::move(layer.index));
        }
        SqliteStatement contents = file.prepare(
            "UPDATE gpkg_contents SET last_change = ?, min_x = ?, min_y = ?, max_x = ?, max_y = ? WHERE table_name = "
            "?");
        contents.bind(1, state.stamp).bind(6, definition.name);
        if (!layer.extent.empty()) {
            contents.bind(2, layer.extent.min_x).bind(3, layer.extent.min_y);
            contents.bind(4, layer.extent.max_x).bind(5, layer.extent.max_y);
        }
        contents.run();
        file.prepare("UPDATE gpkg_ogr_contents SET feature_count = ? WHERE table_name = ?")
            .bind(1, layer.rows)
            .bind(2, definition.name)
            .run();
    }
    if (!state.json.empty()) write_metadata(file, state.json, state.stamp);
    for (const Trigger& trigger : state.triggers) file.run(trigger.sql);
    file.run("COMMIT");
    state.layers.clear();
    file.close();
    std::filesystem::path whole = state.pending->temporary();
    together.take(std::move(state.pending));
    return whole;
}

}  // namespace subcrop::io
