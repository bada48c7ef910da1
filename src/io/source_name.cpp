#include "io/source_name.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>

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

/// What ends a word of a connection.
enum class Words { of_postgres, other };

/// The end of the value that begins at `at`.
std::size_t end_of_value(std::string_view text, std::size_t at, Words words) {
    if (at == text.size()) return at;
    const char first = text[at];
    if (first == '\'' || (words == Words::other && (first == '"' || first == '{'))) {
        const char last = first == '{' ? '}' : first;
        for (std::size_t i = at + 1; i < text.size(); ++i) {
            if (text[i] == '\\' && first != '{')
                ++i;
            else if (text[i] == last && first == '{' && i + 1 < text.size() && text[i + 1] == last)
                ++i;
            else if (text[i] == last)
                return i + 1;
        }
        return text.size();
    }
    for (; at < text.size(); ++at) {
        const char c = text[at];
        if (words == Words::of_postgres && c == '\\')
            ++at;
        else if (std::isspace(static_cast<unsigned char>(c)))
            break;
        else if (words == Words::other && (c == ';' || c == ','))
            break;
    }
    return std::min(at, text.size());
}

/// The same with "password=..." in place of each password.
std::string without_passwords(std::string_view text, Words words) {
    const std::string small = lower(std::string(text));
    const auto skip_space = [&](std::size_t at) {
        while (at < text.size() && std::isspace(static_cast<unsigned char>(text[at]))) ++at;
        return at;
    };
    std::string result;
    std::size_t at = 0;
    while (at < text.size()) {
        std::size_t name = 0;
        for (const std::string_view word : {"password", "passwd", "pwd"})
            if (name == 0 && small.compare(at, word.size(), word) == 0) name = word.size();
        const std::size_t equals = skip_space(at + name);
        if (name == 0 || equals == text.size() || text[equals] != '=') {
            result += text[at++];
            continue;
        }
        result += std::string(text.substr(at, name)) + "=...";
        at = end_of_value(text, skip_space(equals + 1), words);
        // A word that names nothing is the rest of a password that wants quotes.
        while (words == Words::of_postgres) {
            const std::size_t word = skip_space(at), end = end_of_value(text, word, words);
            if (word == text.size() || text.substr(word, end - word).find('=') != std::string_view::npos) break;
            if (const std::size_t next = skip_space(end); next < text.size() && text[next] == '=') break;
            at = end;
        }
    }
    return result;
}

/// The same with "://user:...@" in place of "://user:password@".
std::string without_password_of_address(const std::string& source) {
    const auto begin = source.find("://") + 3, user = source.find_first_of(":/@", begin);
    if (user == std::string::npos || source[user] != ':') return source;
    auto end = source.rfind('@', source.find('/', user));
    if (end == std::string::npos || end < user) end = source.rfind('@');  // a slash within the password
    if (end == std::string::npos || end < user) return source;
    return source.substr(0, user + 1) + "..." + source.substr(end);
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
    static constexpr std::array names = {"GPKG",
                                         "CSV",
                                         "ESRI Shapefile",
                                         "GeoJSON",
                                         "GeoJSONSeq",
                                         "ESRIJSON",
                                         "TopoJSON",
                                         "FlatGeobuf",
                                         "OpenFileGDB",
                                         "SQLite",
                                         "XLSX",
                                         "XLS",
                                         "ODS",
                                         "GML",
                                         "GPX",
                                         "LIBKML",
                                         "KML",
                                         "GeoRSS",
                                         "MapInfo File",
                                         "DXF",
                                         "DGN",
                                         "JML",
                                         "OGR_GMT",
                                         "PostgreSQL",
                                         "MySQL",
                                         "MSSQLSpatial",
                                         "ODBC",
                                         static_cast<const char*>(nullptr)};
    return names.data();
}

const char* const* raster_drivers() {
    static constexpr std::array names = {"GTiff",
                                         "COG",
                                         "GPKG",
                                         "AAIGrid",
                                         "GRASSASCIIGrid",
                                         "EHdr",
                                         "ENVI",
                                         "HFA",
                                         "SRTMHGT",
                                         "USGSDEM",
                                         "DTED",
                                         "netCDF",
                                         "XYZ",
                                         "GSAG",
                                         "GSBG",
                                         "GS7BG",
                                         "SAGA",
                                         "BT",
                                         "ISG",
                                         "JP2OpenJPEG",
                                         "PNG",
                                         "PostGISRaster",
                                         static_cast<const char*>(nullptr)};
    return names.data();
}

std::string replaced(std::string text, std::string_view from, std::string_view to) {
    if (from.empty()) return text;
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
        text.replace(at, from.size(), to);
    return text;
}

std::string shown_source(const std::string& source) {
    if (source.find("://") != std::string::npos)
        return without_passwords(without_password_of_address(source), Words::other);
    const std::string scheme = scheme_of(source);
    if (scheme == "pg") return without_passwords(source, Words::of_postgres);
    // "ODBC:user/password@name"
    const auto slash = source.find('/'), at = source.rfind('@');
    if (scheme == "odbc" && slash < source.find('=') && at != std::string::npos && at > slash) {
        return source.substr(0, slash + 1) + "..." + source.substr(at);
    }
    return without_passwords(source, Words::other);
}

std::string shown_reason(const std::string& reason, const std::string& resolved, const std::string& source) {
    const std::string shown = shown_source(source);
    std::string text = replaced(reason, resolved, shown);
    const std::string scheme = scheme_of(source);
    if (!is_database(scheme)) return text;
    // Without the scheme too, as some drivers repeat it.
    const auto rest = [&](const std::string& whole) { return whole.substr(scheme.size() + 1); };
    text = replaced(text, rest(source), rest(shown));
    if (scheme == "pg") {
        constexpr std::string_view stray =
            "missing \"=\" after \"";  // may be the rest of a password with a space in it
        if (const auto at = text.find(stray); at != std::string::npos) {
            const auto begin = at + stray.size(), end = text.find('"', begin);
            text.replace(begin, (end == std::string::npos ? text.size() : end) - begin, "...");
        }
    }
    return without_passwords(text, Words::other);
}

}  // namespace subcrop::io
