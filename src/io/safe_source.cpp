#include "io/safe_source.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <memory>
#include <optional>
#include <string_view>
#include <system_error>

#include "io/nearest_name.hpp"
#include "io/sqlite_file.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

constexpr const char* save_otherwise = "Save the layer as a GeoPackage of its own and name that.";

void refuse_odd(const fs::path& path, const std::string& shown) {
    const std::string kind = odd_kind(path);
    if (kind.empty()) return;
    throw Error({.source = shown}, "this is " + kind + ", not a file", "Copy the data to a file and name that.");
}

/// Files that GDAL looks for beside a source: "stops.csvt" and "stops.gpkg-wal" belong to "stops.csv" and "stops.gpkg".
void refuse_odd_neighbours(const fs::path& path, const std::string& shown) {
    std::error_code failure;
    const bool folder = fs::is_directory(path, failure);
    const std::string stem = path.stem().string() + '.';
    for (const auto& entry : fs::directory_iterator(folder                   ? path
                                                    : path.has_parent_path() ? path.parent_path()
                                                                             : fs::path("."),
                                                    failure)) {
        const std::string name = entry.path().filename().string();
        if (!folder && !name.starts_with(stem)) continue;
        if (const std::string kind = odd_kind(entry.path()); !kind.empty()) {
            throw Error({.source = shown},
                        "'" + name + "', which belongs to it by its name, is " + kind + ", not a file",
                        "Remove it, or copy the data to another folder.");
        }
    }
}

struct Close {
    void operator()(sqlite3* database) const { sqlite3_close_v2(database); }
};
struct Finalize {
    void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Statement = std::unique_ptr<sqlite3_stmt, Finalize>;

Statement prepared(sqlite3* database, const std::string& sql) {
    sqlite3_stmt* statement = nullptr;
    sqlite3_prepare_v2(database, sql.c_str(), static_cast<int>(sql.size()), &statement, nullptr);
    return Statement(statement);
}

/// Modules of SpatiaLite that show tables of the same file (its documentation, "virtual tables").
bool stays_within(const std::string& module) {
    static constexpr std::array<std::string_view, 8> known{"virtualspatialindex", "virtualelementary", "virtualknn",
                                                           "virtualknn2",         "virtualbbox",       "virtualnetwork",
                                                           "virtualrouting",      "virtualxpath"};
    return std::find(known.begin(), known.end(), lower(module)) != known.end();
}

/// A plain SQLite has no module that reads other files: whichever it lacks was added by GDAL or SpatiaLite.
void refuse_virtual_tables(const fs::path& path, const std::string& shown) {
    std::array<char, 16> head{};
    if (!std::ifstream(path, std::ios::binary).read(head.data(), head.size()) ||
        std::string_view(head.data()) != "SQLite format 3")
        return;
    sqlite3* opened = nullptr;
    const int code = sqlite3_open_v2(path.c_str(), &opened, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, nullptr);
    const std::unique_ptr<sqlite3, Close> database(opened);
    if (code != SQLITE_OK) return;
    const Statement tables =
        prepared(opened, "SELECT name FROM sqlite_schema WHERE type = 'table' AND coalesce(rootpage, 0) = 0");
    while (tables && sqlite3_step(tables.get()) == SQLITE_ROW) {
        const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(tables.get(), 0));
        const std::string table = bytes != nullptr ? bytes : "";
        if (prepared(opened, "SELECT * FROM " + quoted_name(table))) continue;
        constexpr std::string_view lacking = "no such module: ";
        const std::string reason = sqlite3_errmsg(opened);
        if (!reason.starts_with(lacking) || stays_within(reason.substr(lacking.size()))) continue;
        throw Error({.source = shown},
                    "its table '" + table + "' is virtual (" + reason.substr(lacking.size()) +
                        "): it may show other files, which are not read",
                    save_otherwise);
    }
}

/// A MapInfo table may be a view of others, or join many of them.
void refuse_joined_tables(const fs::path& path, const std::string& shown) {
    if (lower(path.extension().string()) != ".tab") return;
    constexpr std::size_t longest = 1 << 20;  // such a file is a page of text
    std::string text(longest, '\0');
    std::ifstream in(path, std::ios::binary);
    in.read(text.data(), static_cast<std::streamsize>(longest));
    text.resize(static_cast<std::size_t>(in.gcount()));
    std::string words;
    for (const char c : lower(text))
        if (c != ' ' && c != '\t') words += c;
    if (words.find("\\isseamless\"=\"true\"") == std::string::npos && words.find("createview") == std::string::npos)
        return;
    throw Error({.source = shown}, "this table shows rows of other tables, which are not read", save_otherwise);
}

}  // namespace

std::string odd_kind(const fs::path& path) {
    std::error_code failure;
    switch (fs::status(path, failure).type()) {
        case fs::file_type::fifo:
            return "a pipe";
        case fs::file_type::block:
        case fs::file_type::character:
            return "a device";
        case fs::file_type::socket:
            return "a socket";
        default:
            return {};
    }
}

void refuse_what_leads_elsewhere(const fs::path& path, const std::string& shown) {
    refuse_odd(path, shown);
    refuse_odd_neighbours(path, shown);
    std::error_code failure;
    if (!fs::is_directory(path, failure)) {
        refuse_virtual_tables(path, shown);
        refuse_joined_tables(path, shown);
        return;
    }
    for (const auto& entry : fs::directory_iterator(path, failure)) refuse_joined_tables(entry.path(), shown);
}

void refuse_overviews_elsewhere(GDALDataset& raster, const std::string& shown) {
    const char* named = raster.GetMetadataItem("OVERVIEW_FILE", "OVERVIEWS");
    if (named == nullptr) return;
    std::string_view file = named;
    constexpr std::string_view beside = ":::BASE:::";
    if (file.starts_with(beside)) file.remove_prefix(beside.size());
    if (file.find_first_of("/\\:") == std::string_view::npos) return;
    throw Error({.source = shown},
                "its overviews are said to be in '" + std::string(file.substr(0, 200)) + "', which is not read",
                "Save the raster as a GeoTIFF of its own and name that.");
}

}  // namespace subcrop::io
