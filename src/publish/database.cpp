#include "publish/database.hpp"

#include <ogrsf_frmts.h>

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>

#include "io/gdal_support.hpp"
#include "io/source_name.hpp"
#include "io/sqlite_file.hpp"
#include "publish/csv_text.hpp"

namespace subcrop::publish {

namespace {

/// The schema's comment begins with this. A schema without it is not ours.
constexpr std::string_view mark = "Results of subcrop";
/// PostgreSQL cuts longer names (NAMEDATALEN minus one). One character is kept for temporary tables.
constexpr std::size_t longest_schema = 50;

std::string literal(std::string_view text) {
    std::string quoted = "'";
    for (const char c : text) {
        if (c == '\'') quoted += '\'';
        quoted += c;
    }
    return quoted + "'";
}

class Database {
public:
    explicit Database(const DatabaseTarget& target) : target_(target) {
        io::start_gdal();
        place_.source = io::shown_source(target.connection);
        if (GetGDALDriverManager()->GetDriverByName("PostgreSQL") == nullptr) {
            throw Error(place_, "this GDAL was built without PostgreSQL, so it cannot write to a database",
                        "Install a GDAL with its PostgreSQL driver (Debian's has it), or leave out --postgis.");
        }
        static constexpr std::array drivers = {"PostgreSQL", static_cast<const char*>(nullptr)};
        data_.reset(GDALDataset::Open(target.connection.c_str(),
                                      GDAL_OF_VECTOR | GDAL_OF_UPDATE | GDAL_OF_VERBOSE_ERROR, drivers.data()));
        if (!data_)
            fail("the database cannot be opened",
                 "Check host, name of the database, user and password, and that the server runs.");
    }

    void run(const std::string& sql, const char* what, const char* remedy) {
        messages_.clear();
        if (OGRLayer* rows = data_->ExecuteSQL(sql.c_str(), nullptr, nullptr)) data_->ReleaseResultSet(rows);
        if (messages_.failures() > 0) fail(what, remedy);
    }
    /// The first column of the first row; absent if there is none, if it is NULL, or if the query fails.
    std::optional<std::string> ask(const std::string& sql) {
        std::optional<std::string> answer;
        messages_.clear();
        OGRLayer* rows = data_->ExecuteSQL(sql.c_str(), nullptr, nullptr);
        if (rows == nullptr) return answer;
        if (const OGRFeatureUniquePtr row(rows->GetNextFeature()); row && row->IsFieldSetAndNotNull(0))
            answer = row->GetFieldAsString(0);
        data_->ReleaseResultSet(rows);
        return answer;
    }
    GDALDataset& data() { return *data_; }
    io::GdalMessages& messages() { return messages_; }
    const Place& place() const { return place_; }

    [[noreturn]] void fail(const std::string& what, const std::string& remedy) {
        const std::string reason = io::shown_reason(messages_.last(), target_.connection, target_.connection);
        throw Error(place_, what + (reason.empty() ? std::string() : " (" + reason + ")"), remedy);
    }

private:
    const DatabaseTarget& target_;
    Place place_;
    io::GdalMessages messages_;
    GDALDatasetUniquePtr data_;
};

void refuse_schema_of_others(Database& database, const std::string& schema) {
    const std::string name = literal(schema);
    const auto comment = database.ask(
        "SELECT coalesce(obj_description(oid, 'pg_namespace'), '') FROM pg_namespace WHERE nspname = " + name);
    if (comment && !comment->starts_with(mark)) {
        const auto tables = database.ask(
            "SELECT count(*)::text FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace WHERE nspname = " + name);
        if (tables != "0") {
            throw Error(database.place(), "the schema '" + schema + "' holds tables that are no results of subcrop",
                        "Name another with --schema; it is made where it is missing.");
        }
    }
    if (database.ask("SELECT has_database_privilege(current_database(), 'CREATE')::int::text") == "0") {
        throw Error(database.place(), "you may not make a schema in this database",
                    "Ask its owner for: GRANT CREATE ON DATABASE ... TO you.");
    }
}

void copy_layer(Database& database, OGRLayer& from, const std::string& schema) {
    CPLStringList options;
    for (const auto& [key, value] : {std::pair{"SCHEMA", schema.c_str()}, std::pair{"GEOMETRY_NAME", "geom"},
                                     std::pair{"FID", "fid"}, std::pair{"LAUNDER", "NO"}})
        options.SetNameValue(key, value);
    const std::string what = std::string("the layer ") + from.GetName() + " cannot be written";
    const char* remedy = "The database is as it was, and results.gpkg is whole.";
    database.messages().clear();
    OGRLayer* made =
        database.data().CreateLayer(from.GetName(), from.GetSpatialRef(), from.GetGeomType(), options.List());
    if (made == nullptr) database.fail(what, remedy);
    OGRFeatureDefn& definition = *from.GetLayerDefn();
    // GDAL passes numbers with 15 digits, so they are sent as exact texts.
    std::string numbers;
    for (int i = 0; i < definition.GetFieldCount(); ++i) {
        OGRFieldDefn field(definition.GetFieldDefn(i));
        if (field.GetType() == OFTReal) {
            field.SetType(OFTString);
            const std::string name = io::quoted_name(field.GetNameRef());
            numbers += (numbers.empty() ? "" : ", ") + ("ALTER COLUMN " + name) + " TYPE double precision USING " +
                       name + "::double precision";
        }
        if (made->CreateField(&field) != OGRERR_NONE) database.fail(what, remedy);
    }
    for (const auto& feature : from) {
        OGRFeature row(made->GetLayerDefn());
        row.SetFrom(feature.get());
        row.SetFID(feature->GetFID());
        for (int i = 0; i < definition.GetFieldCount(); ++i)
            if (definition.GetFieldDefn(i)->GetType() == OFTReal && feature->IsFieldSetAndNotNull(i))
                row.SetField(i, csv_number(feature->GetFieldAsDouble(i)).c_str());
        if (made->CreateFeature(&row) != OGRERR_NONE) database.fail(what, remedy);
    }
    if (made->SyncToDisk() != OGRERR_NONE || database.messages().failures() > 0) database.fail(what, remedy);
    if (!numbers.empty())
        database.run("ALTER TABLE " + io::quoted_name(schema) + "." + io::quoted_name(from.GetName()) + " " + numbers,
                     what.c_str(), remedy);
}

/// Names and types of a table's columns; absent if there is no such table.
std::optional<std::string> columns_of(Database& database, const std::string& table) {
    return database.ask(
        "SELECT string_agg(attname || ' ' || format_type(atttypid, atttypmod), ', ' ORDER BY attnum) FROM pg_attribute "
        "WHERE attrelid = to_regclass(" +
        literal(table) + ") AND attnum > 0 AND NOT attisdropped");
}

void describe(Database& database, const std::string& schema, const io::LayerDefinition& layer) {
    const std::string table = io::quoted_name(schema) + "." + io::quoted_name(layer.name);
    std::string sql = "COMMENT ON TABLE " + table + " IS " + literal(layer.description) + ";";
    for (const io::FieldDefinition& field : layer.fields)
        sql += "COMMENT ON COLUMN " + table + "." + io::quoted_name(field.name) + " IS " + literal(field.description) +
               ";";
    database.run(sql, "the columns cannot be described", "The database is as it was, and results.gpkg is whole.");
}

}  // namespace

std::string shown_database(const DatabaseTarget& target) {
    return io::shown_source(target.connection) + ", schema " + target.schema;
}

void check_database(const DatabaseTarget& target) {
    const std::string& schema = target.schema;
    if (schema.empty() || schema.size() > longest_schema || schema == "public" || schema == "information_schema" ||
        schema.starts_with("pg_")) {
        throw Error({.source = io::shown_source(target.connection)},
                    "results are not written to a schema '" + schema + "'",
                    "Name one of their own with --schema, of at most " + std::to_string(longest_schema) +
                        " characters, such as 'subcrop'.");
    }
    Database database(target);
    if (!database.ask("SELECT postgis_lib_version()"))
        database.fail("the database has no PostGIS", "Run in it: CREATE EXTENSION postgis.");
    refuse_schema_of_others(database, schema);
}

void write_to_database(const std::filesystem::path& results, const DatabaseTarget& target,
                       const io::FileDefinition& definition) {
    const GDALDatasetUniquePtr file(GDALDataset::Open(results.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    if (!file) throw Error(io::file_place(results), "it cannot be read again to write it to a database");
    Database database(target);
    const std::string schema = io::quoted_name(target.schema), incoming = target.schema + "_incoming";
    const char* remedy = "The database is as it was, and results.gpkg is whole.";
    if (database.data().StartTransaction() != OGRERR_NONE) database.fail("the database begins no transaction", remedy);
    // Without a commit the connection closes, and the server discards everything.
    database.run("SELECT pg_advisory_xact_lock(hashtext('subcrop'), hashtext(" + literal(target.schema) + "))",
                 "another run does not let go of the schema", remedy);
    refuse_schema_of_others(database, target.schema);
    database.run("CREATE SCHEMA IF NOT EXISTS " + schema, "the schema cannot be made", remedy);
    database.run("COMMENT ON SCHEMA " + schema + " IS " +
                     literal(std::string(mark) + " " + std::string(version()) + "; every run replaces them."),
                 "the schema is not yours", "Name another with --schema, or run as its owner.");
    database.run("CREATE SCHEMA " + io::quoted_name(incoming), "the temporary schema cannot be made", remedy);
    for (OGRLayer* layer : file->GetLayers()) {
        const std::string name = layer->GetName();
        if (name == "layer_styles") continue;
        copy_layer(database, *layer, incoming);
        const std::string from = io::quoted_name(incoming) + "." + io::quoted_name(name),
                          to = schema + "." + io::quoted_name(name);
        const std::optional<std::string> old = columns_of(database, to);
        const std::string what = "the table " + target.schema + "." + name + " cannot be replaced";
        if (old && old == columns_of(database, from)) {
            database.run("DELETE FROM " + to + "; INSERT INTO " + to + " SELECT * FROM " + from, what.c_str(), remedy);
        } else {
            database.run(
                "DROP TABLE IF EXISTS " + to, what.c_str(),
                "Drop what depends on it (views), or name another schema with --schema. The database is as it was.");
            database.run("ALTER TABLE " + from + " SET SCHEMA " + schema, what.c_str(), remedy);
        }
        const auto described = std::find_if(definition.layers.begin(), definition.layers.end(),
                                            [&](const auto& d) { return d.name == name; });
        if (described != definition.layers.end()) describe(database, target.schema, *described);
    }
    database.run("DROP SCHEMA " + io::quoted_name(incoming) + " CASCADE", "the temporary tables cannot be removed",
                 remedy);
    database.messages().clear();
    if (database.data().CommitTransaction() != OGRERR_NONE)
        database.fail("the database does not take the results", remedy);
}

}  // namespace subcrop::publish
