#include "io/plain_rows.hpp"

#include <bit>
#include <cstring>
#include <filesystem>
#include <utility>

#include "io/sqlite_file.hpp"

namespace subcrop::io {

namespace {

constexpr int id_place = 0, geometry_place = 1, first_column_place = 2;

/// Types whose text or number is stored unchanged in the table.
bool readable(OGRFieldDefn& field) {
    if (field.GetSubType() != OFSTNone || field.GetWidth() > 0) return false;
    switch (field.GetType()) {
        case OFTString:
        case OFTInteger:
        case OFTInteger64:
        case OFTReal:
        case OFTDate:
            return true;
        default:
            return false;
    }
}

/// "2026-05-03", and nothing that GDAL would correct or refuse.
bool is_date(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
    for (const std::size_t i : {0, 1, 2, 3, 5, 6, 8, 9})
        if (text[i] < '0' || text[i] > '9') return false;
    const int month = (text[5] - '0') * 10 + text[6] - '0', day = (text[8] - '0') * 10 + text[9] - '0';
    return text[0] > '0' && month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

/// Reads well-known binary of this machine's byte order (OGC 06-103r4, clause 8); false once anything is not as
/// expected.
class Binary {
public:
    explicit Binary(std::string_view bytes) : bytes_(bytes) {}

    template <class Value>
    bool take(Value& value) {
        if (bytes_.size() < sizeof value) return false;
        std::memcpy(&value, bytes_.data(), sizeof value);
        bytes_.remove_prefix(sizeof value);
        return true;
    }
    bool take_type(std::uint32_t& type) {
        std::uint8_t little = 0;
        return take(little) && little == 1 && take(type);
    }
    bool take_ring(Ring& ring) {
        std::uint32_t count = 0;
        if (!take(count) || count == 0 || bytes_.size() / sizeof(Point) < count) return false;
        ring.resize(count);
        std::memcpy(&ring[0].x, bytes_.data(), count * sizeof(Point));
        bytes_.remove_prefix(count * sizeof(Point));
        if (!(ring.front() == ring.back())) ring.push_back(ring.front());
        return true;
    }
    bool take_polygon(Polygon& polygon) {
        std::uint32_t rings = 0;
        if (!take(rings) || rings == 0 || bytes_.size() / sizeof rings < rings) return false;
        if (!take_ring(polygon.shell)) return false;
        polygon.holes.resize(rings - 1);
        for (Ring& hole : polygon.holes)
            if (!take_ring(hole)) return false;
        return true;
    }
    bool at_end() const { return bytes_.empty(); }

private:
    std::string_view bytes_;
};

/// What follows a GeoPackage's geometry header (OGC 12-128r15, clause 2.1.3); empty where it is of another kind.
std::string_view well_known_binary(std::string_view blob) {
    constexpr std::size_t header = 8;
    if (blob.size() < header || blob[0] != 'G' || blob[1] != 'P' || blob[2] != 0) return {};
    const auto flags = static_cast<unsigned char>(blob[3]);
    constexpr unsigned extended_or_empty = 0x30, little = 1;
    if ((flags & extended_or_empty) != 0 || (flags & little) == 0) return {};
    constexpr std::size_t envelopes[] = {0, 32, 48, 48, 64};
    const unsigned envelope = (flags >> 1U) & 7U;
    if (envelope > 4 || blob.size() < header + envelopes[envelope]) return {};
    return blob.substr(header + envelopes[envelope]);
}

constexpr std::uint32_t wkb_point = 1, wkb_polygon = 3, wkb_multipolygon = 6;

}  // namespace

std::unique_ptr<PlainRows> PlainRows::open(const OpenLayer& layer, const std::set<int>& columns) {
    if constexpr (std::endian::native != std::endian::little) return nullptr;
    GDALDriver* driver = layer.dataset->GetDriver();
    std::error_code failure;
    const std::string path = layer.dataset->GetDescription();
    if (driver == nullptr || std::string_view(driver->GetDescription()) != "GPKG" ||
        !std::filesystem::is_regular_file(path, failure))
        return nullptr;
    const std::string id = layer.layer->GetFIDColumn(), geometry = layer.layer->GetGeometryColumn();
    if (id.empty()) return nullptr;

    std::unique_ptr<PlainRows> rows(new PlainRows);
    OGRFeatureDefn& definition = *layer.layer->GetLayerDefn();
    rows->place_.assign(static_cast<std::size_t>(definition.GetFieldCount()), 0);
    rows->located_ = !geometry.empty();
    std::string sql = "SELECT " + quoted_name(id) + ", " + (geometry.empty() ? "NULL" : quoted_name(geometry));
    for (const int column : columns) {
        if (column < 0) continue;
        OGRFieldDefn& field = *definition.GetFieldDefn(column);
        if (!readable(field)) return nullptr;
        rows->place_[static_cast<std::size_t>(column)] = first_column_place + static_cast<int>(rows->types_.size());
        rows->types_.push_back(field.GetType());
        sql += ", " + quoted_name(field.GetNameRef());
    }
    const std::string table = layer.layer->GetName();
    sql += " FROM " + quoted_name(table) + " ORDER BY " + quoted_name(id);

    sqlite3* database = nullptr;
    const int opened = sqlite3_open_v2(path.c_str(), &database, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, nullptr);
    rows->database_.reset(database);
    const auto prepared = [&](const std::string& text) {
        sqlite3_stmt* statement = nullptr;
        sqlite3_prepare_v2(database, text.c_str(), static_cast<int>(text.size()), &statement, nullptr);
        return std::unique_ptr<sqlite3_stmt, Finalize>(statement);
    };
    if (opened != SQLITE_OK) return nullptr;
    const auto is_table =
        prepared("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ? AND sql NOT LIKE 'CREATE VIRTUAL%'");
    if (!is_table ||
        sqlite3_bind_text(is_table.get(), 1, table.data(), static_cast<int>(table.size()), SQLITE_STATIC) !=
            SQLITE_OK ||
        sqlite3_step(is_table.get()) != SQLITE_ROW) {
        return nullptr;
    }
    rows->rows_ = prepared(sql);
    return rows->rows_ ? std::move(rows) : nullptr;
}

PlainRows::Step PlainRows::next() {
    const int code = sqlite3_step(rows_.get());
    if (code == SQLITE_DONE) return Step::end;
    if (code != SQLITE_ROW) return Step::failed;
    if (sqlite3_column_type(rows_.get(), id_place) != SQLITE_INTEGER) return Step::failed;
    for (int at = first_column_place; at < first_column_place + static_cast<int>(types_.size()); ++at)
        if (!as_declared(at)) return Step::odd;
    return Step::plain;
}

bool PlainRows::as_declared(int place) const {
    const int kind = sqlite3_column_type(rows_.get(), place);
    if (kind == SQLITE_NULL) return true;
    switch (types_[static_cast<std::size_t>(place - first_column_place)]) {
        case OFTString:
            return kind == SQLITE_TEXT;
        case OFTReal:
            return kind == SQLITE_FLOAT || kind == SQLITE_INTEGER;
        case OFTInteger64:
            return kind == SQLITE_INTEGER;
        case OFTInteger: {
            const std::int64_t value = kind == SQLITE_INTEGER ? sqlite3_column_int64(rows_.get(), place) : INT64_MAX;
            return value >= INT32_MIN && value <= INT32_MAX;
        }
        case OFTDate: {
            if (kind != SQLITE_TEXT) return false;
            const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(rows_.get(), place));
            return bytes != nullptr && is_date(bytes);
        }
        default:
            return false;
    }
}

std::int64_t PlainRows::id() const { return sqlite3_column_int64(rows_.get(), id_place); }

bool PlainRows::has(int column) const { return sqlite3_column_type(rows_.get(), place(column)) != SQLITE_NULL; }

std::string_view PlainRows::text(int column) const {
    const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(rows_.get(), place(column)));
    return bytes != nullptr ? bytes : "";
}

std::int64_t PlainRows::integer(int column) const { return sqlite3_column_int64(rows_.get(), place(column)); }

double PlainRows::real(int column) const { return sqlite3_column_double(rows_.get(), place(column)); }

std::string_view PlainRows::geometry() const {
    if (!located_ || sqlite3_column_type(rows_.get(), geometry_place) != SQLITE_BLOB) return {};
    const auto* bytes = static_cast<const char*>(sqlite3_column_blob(rows_.get(), geometry_place));
    return {bytes, static_cast<std::size_t>(sqlite3_column_bytes(rows_.get(), geometry_place))};
}

std::optional<Point> PlainRows::point() const {
    Binary binary(well_known_binary(geometry()));
    std::uint32_t type = 0;
    Point place;
    if (!binary.take_type(type) || type != wkb_point || !binary.take(place.x) || !binary.take(place.y) ||
        !binary.at_end())
        return std::nullopt;
    return place;
}

std::vector<Polygon> PlainRows::polygons() const {
    Binary binary(well_known_binary(geometry()));
    std::uint32_t type = 0, parts = 1;
    if (!binary.take_type(type) || (type != wkb_polygon && type != wkb_multipolygon)) return {};
    std::vector<Polygon> found;
    if (type == wkb_multipolygon && !binary.take(parts)) return {};
    for (std::uint32_t i = 0; i < parts; ++i) {
        if (type == wkb_multipolygon) {
            std::uint32_t type_of_part = 0;
            if (!binary.take_type(type_of_part) || type_of_part != wkb_polygon) return {};
        }
        if (!binary.take_polygon(found.emplace_back())) return {};
    }
    if (!binary.at_end()) return {};
    return found;
}

}  // namespace subcrop::io
