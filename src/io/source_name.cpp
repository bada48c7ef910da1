#include "io/source_name.hpp"

#include <array>
#include <cctype>
#include <regex>

#include "io/nearest_name.hpp"

namespace subcrop::io {

namespace {

/// "pg" of "PG:dbname=survey"; empty for a path. One letter is a drive, not a scheme.
std::string scheme_of(const std::string& source) {
    const auto colon = source.find(':');
    if (colon == std::string::npos || colon < 2) return {};
    for (std::size_t i = 0; i < colon; ++i) {
        const auto c = static_cast<unsigned char>(source[i]);
        if (!std::isalnum(c) && c != '_' && c != '+' && c != '-') return {};
    }
    return lower(source.substr(0, colon));
}

bool is_file(const std::string& source, const std::filesystem::path& folder) {
    std::error_code failure;
    return std::filesystem::exists(folder / source, failure);
}

bool is_database(const std::string& scheme) {
    static constexpr std::array<const char*, 4> databases = {"pg", "mysql", "mssql", "odbc"};
    for (const char* name : databases) {
        if (scheme == name) return true;
    }
    return false;
}

}  // namespace

bool is_connection(const std::string& source, const std::filesystem::path& folder) {
    return !is_file(source, folder) && is_database(scheme_of(source));
}

std::string refusal_of_source(const std::string& source, const std::filesystem::path& folder) {
    const std::string small = lower(source);
    if (small.starts_with("/vsi") || small.find(":/vsi") != std::string::npos) {
        return "virtual files ('" + source + "') are not read";
    }
    if (small.find("://") != std::string::npos) {
        return "addresses on the network ('" + shown_source(source) + "') are not read";
    }
    const auto first = source.find_first_not_of(" \t\r\n");
    if (first != std::string::npos && (source[first] == '<' || source[first] == '{')) {
        return "a path is expected here, not the data itself";
    }
    if (is_file(source, folder)) return {};
    const std::string scheme = scheme_of(source);
    if (scheme.empty() || is_database(scheme)) return {};
    return "sources that begin with '" + source.substr(0, scheme.size() + 1) + "' are not read";
}

const char* const* vector_drivers() {
    static constexpr std::array names = {
        "GPKG", "CSV", "ESRI Shapefile", "GeoJSON", "GeoJSONSeq", "ESRIJSON", "TopoJSON", "FlatGeobuf", "OpenFileGDB", "SQLite",
        "XLSX", "XLS", "ODS", "GML", "GPX", "LIBKML", "KML", "GeoRSS", "MapInfo File", "DXF", "DGN", "JML", "OGR_GMT",
        "PostgreSQL", "MySQL", "MSSQLSpatial", "ODBC", static_cast<const char*>(nullptr)};
    return names.data();
}

const char* const* raster_drivers() {
    static constexpr std::array names = {
        "GTiff", "COG", "GPKG", "AAIGrid", "GRASSASCIIGrid", "EHdr", "ENVI", "HFA", "SRTMHGT", "USGSDEM", "DTED", "netCDF", "XYZ",
        "GSAG", "GSBG", "GS7BG", "SAGA", "BT", "ISG", "JP2OpenJPEG", "PNG", "PostGISRaster", static_cast<const char*>(nullptr)};
    return names.data();
}

std::string shown_source(const std::string& source) {
    // A connection to PostgreSQL ends a word at white space only, others at a comma or semicolon; a quote within quotes has a backslash.
    static const std::regex password(R"((password|pwd)\s*=\s*('(\\.|[^'\\])*'|[^\s;,]*))", std::regex::icase);
    static const std::regex postgres_password(R"((password|pwd)\s*=\s*('(\\.|[^'\\])*'|(\\.|[^\s\\])*))", std::regex::icase);
    static const std::regex in_address(R"(://([^/@:]*):[^/]*@)");
    if (scheme_of(source) == "pg" && source.find("://") == std::string::npos) return std::regex_replace(source, postgres_password, "$1=...");
    return std::regex_replace(std::regex_replace(source, password, "$1=..."), in_address, "://$1:...@");
}

}  // namespace subcrop::io
