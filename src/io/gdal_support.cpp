#include "io/gdal_support.hpp"

#include <cpl_http.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <vector>

#include "io/nearest_name.hpp"
#include "io/safe_source.hpp"
#include "io/source_name.hpp"

namespace subcrop::io {

namespace {

/// Tables that programs keep in a GeoPackage for themselves.
bool is_housekeeping(const std::string& layer) {
    return layer == "layer_styles" || layer == "qgis_projects" || layer == "data_licenses";
}

std::vector<std::string> layer_names(GDALDataset& dataset) {
    std::vector<std::string> names;
    for (int i = 0; i < dataset.GetLayerCount(); ++i) {
        if (OGRLayer* layer = dataset.GetLayer(i)) names.emplace_back(layer->GetName());
    }
    return names;
}

[[noreturn]] void no_such_file(const std::string& shown, const std::filesystem::path& path) {
    if (shown.find('*') != std::string::npos) {
        throw Error({.source = shown}, "there is no such file",
                    "A source is one file: copy the rows of the others under those of the first.");
    }
    std::vector<std::string> beside;
    std::error_code failure;
    for (const auto& entry : std::filesystem::directory_iterator(path.parent_path(), failure)) {
        beside.push_back(entry.path().filename().string());
    }
    std::sort(beside.begin(), beside.end());
    std::string remedy = did_you_mean(path.filename().string(), beside);
    if (remedy.empty()) remedy = "A path is taken from the survey file's folder.";
    if (remedy.back() == ' ') remedy.pop_back();
    throw Error({.source = shown}, "there is no such file", remedy);
}

/// A file that GDAL would refuse in its own words, or read without its columns.
void check_whole(const std::filesystem::path& path, const std::string& shown) {
    std::error_code failure;
    if (!std::filesystem::is_regular_file(path, failure)) return;
    if (::access(path.c_str(), R_OK) != 0) {
        throw Error({.source = shown}, "the file may not be read (" + std::string(std::strerror(errno)) + ")",
                    "Give yourself the right to read it, or copy it to a folder of yours.");
    }
    if (std::filesystem::file_size(path, failure) == 0) {
        throw Error({.source = shown}, "the file is empty",
                    "Copy it again, or save it again from the program it came from.");
    }
    const std::string ending = lower(path.extension().string());
    if (ending == ".csv" || ending == ".tsv" || ending == ".txt") {
        std::ifstream in(path, std::ios::binary);
        const int first = in.get(), second = in.get();
        if ((first == 0xFF && second == 0xFE) || (first == 0xFE && second == 0xFF)) {
            throw Error({.source = shown}, "the text is UTF-16", "Save the table as CSV in UTF-8.");
        }
    }
    if (ending != ".shp") return;
    for (const char* part : {".shx", ".dbf"}) {
        std::string upper_part = part;
        for (char& c : upper_part) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
        std::filesystem::path beside = path, beside_upper = path;
        if (std::filesystem::exists(beside.replace_extension(part), failure) ||
            std::filesystem::exists(beside_upper.replace_extension(upper_part), failure)) {
            continue;
        }
        throw Error({.source = shown},
                    "the file '" + beside.filename().string() + "', which is part of the shapefile, is missing",
                    "A shapefile is several files of one name: copy .shp, .shx, .dbf and .prj together.");
    }
}

std::string name_of_driver(GDALDataset& dataset) {
    const GDALDriver* driver = dataset.GetDriver();
    return driver != nullptr ? const_cast<GDALDriver*>(driver)->GetDescription() : "";
}

}  // namespace

void start_gdal() {
    static std::once_flag once;
    std::call_once(once, [] {
        GDALAllRegister();
        // Spreadsheets whose cells are all text would otherwise have no header row.
        CPLSetConfigOption("OGR_XLSX_HEADERS", "FORCE");
        CPLSetConfigOption("OGR_ODS_HEADERS", "FORCE");
        // A source is read and nothing beyond it: no schema is fetched, no link in it followed.
        CPLSetConfigOption("GML_DOWNLOAD_SCHEMA", "NO");
        CPLSetConfigOption("GML_SKIP_RESOLVE_ELEMS", "ALL");
        CPLSetConfigOption("LIBKML_RESOLVE_STYLE", "NO");
        OSRSetPROJEnableNetwork(0);
        CPLSetConfigOption("ALLOW_OGR_SQL_FUNCTIONS_FROM_TRIGGER_AND_VIEW", "NO");
        CPLSetConfigOption("OGR_SQLITE_LOAD_EXTENSIONS", "");
        CPLSetConfigOption("CPL_VSIL_CURL_ALLOWED_EXTENSIONS", ".none");  // virtual files on the network
    });
}

namespace {

/// In GDAL's place: fetches nothing, and keeps what was to be fetched.
CPLHTTPResult* fetch_nothing(const char* address, CSLConstList, GDALProgressFunc, void*, CPLHTTPFetchWriteFunc, void*,
                             void* messages) {
    static_cast<GdalMessages*>(messages)->note_address(address != nullptr ? address : "");
    auto* result = static_cast<CPLHTTPResult*>(CPLCalloc(1, sizeof(CPLHTTPResult)));
    result->nStatus = 1;
    result->pszErrBuf = CPLStrdup("the network is not asked");
    return result;
}

}  // namespace

GdalMessages::GdalMessages() {
    CPLPushErrorHandlerEx(&GdalMessages::receive, this);
    CPLHTTPPushFetchCallback(&fetch_nothing, this);
}

GdalMessages::~GdalMessages() {
    CPLHTTPPopFetchCallback();
    CPLPopErrorHandler();
}

void GdalMessages::receive(CPLErr kind, CPLErrorNum, const char* message) {
    auto& self = *static_cast<GdalMessages*>(CPLGetErrorHandlerUserData());
    if (kind == CE_Failure || kind == CE_Fatal) {
        ++self.failures_;
        self.last_failure_ = message;
    } else if (kind == CE_Warning) {
        self.last_warning_ = message;
    }
}

std::string GdalMessages::last() const {
    std::string text = last_failure_.empty() ? last_warning_ : last_failure_;
    for (char& c : text) {
        if (c == '\n' || c == '\r' || c == '\t') c = ' ';
    }
    while (!text.empty() && (text.back() == ' ' || text.back() == '.')) text.pop_back();
    return text;
}

void GdalMessages::clear() {
    failures_ = 0;
    last_failure_.clear();
    last_warning_.clear();
    address_.clear();
}

namespace {

/// Throws where a file would have GDAL fetch something, without which it would be misread: its coordinate reference
/// system, say.
void refuse_network(const GdalMessages& messages, const Place& place) {
    constexpr const char* remedy =
        "State the coordinate reference system by its code: take the link out, or save the data as a GeoPackage.";
    if (!messages.address().empty()) {
        throw Error(
            place,
            "it links to '" + shown_source(messages.address().substr(0, 200)) + "'; nothing is fetched from a network",
            remedy);
    }
    const std::string last = messages.last();
    for (const char* sign :
         {"is not recognized as a URL", "due to ALLOW_NETWORK_ACCESS=NO", "due to ALLOW_FILE_ACCESS=NO"}) {
        if (last.find(sign) == std::string::npos) continue;
        throw Error(place, "its coordinate reference system is a link, which is not followed", remedy);
    }
}

/// Throws where a file is of a format that GDAL would read and a survey may not name.
void refuse_other_drivers(const Place& place, const std::string& path, unsigned kind, const char* const* allowed) {
    const GDALDriverH driver = GDALIdentifyDriverEx(path.c_str(), kind, nullptr, nullptr);
    if (driver == nullptr) return;
    const std::string name = GDALGetDriverShortName(driver);
    for (; *allowed != nullptr; ++allowed) {
        if (name == *allowed) return;
    }
    throw Error(
        place, "files of this kind (GDAL's driver " + name + ") are not read: they may name further files or addresses",
        "Save the data as a GeoPackage, or name the file it comes from.");
}

}  // namespace

namespace {

bool has_header_row(std::string_view driver) {
    return driver == "CSV" || driver == "XLSX" || driver == "ODS" || driver == "XLS";
}

/// Where line number `line`, counted from 1, begins in a text file.
std::uint64_t start_of_line(const std::filesystem::path& path, std::size_t line) {
    std::ifstream in(path, std::ios::binary);
    std::uint64_t at = 0;
    std::string text;
    for (std::size_t i = 1; i < line && std::getline(in, text); ++i) at += text.size() + 1;
    return at;
}

/// Gives the columns of a spreadsheet the names in this row.
void take_names_from(OpenLayer& open, std::size_t row) {
    open.layer->ResetReading();
    OGRFeatureUniquePtr header;
    do header.reset(open.layer->GetNextFeature());
    while (header && header->GetFID() < static_cast<GIntBig>(row));
    if (!header || header->GetFID() != static_cast<GIntBig>(row)) {
        throw Error(open.place, "row " + std::to_string(row) + ", which should have the names of the columns, is empty",
                    "Correct the key 'header_row'.");
    }
    OGRFeatureDefn& definition = *open.layer->GetLayerDefn();
    for (int i = 0; i < definition.GetFieldCount(); ++i) {
        const std::string name = header->GetFieldAsString(i);
        if (!name.empty()) definition.GetFieldDefn(i)->SetName(name.c_str());
    }
    open.names_in_row = row;
}

}  // namespace

OpenLayer open_layer(const SurveyFile& file, const SourceDescription& description) {
    start_gdal();
    const std::string path = resolved_source(file, description.source);
    const std::string shown = shown_source(description.source);
    const bool connection = is_connection(description.source, std::filesystem::absolute(file.path).parent_path());
    std::error_code failure;
    if (!connection && !std::filesystem::exists(path, failure)) no_such_file(shown, path);
    if (!connection) {
        refuse_what_leads_elsewhere(path, shown);
        check_whole(path, shown);
    }

    OpenLayer open;
    open.place.source = shown;
    GdalMessages messages;
    CPLStringList options;
    if (GDALDriver* driver =
            static_cast<GDALDriver*>(GDALIdentifyDriverEx(path.c_str(), GDAL_OF_VECTOR, nullptr, nullptr));
        driver != nullptr && std::string(driver->GetDescription()) == "CSV") {
        options.SetNameValue("EMPTY_STRING_AS_NULL", "YES");
        options.SetNameValue("HEADERS", "YES");  // GDAL guesses, and guesses wrong where a name looks like a number
        open.text_table_start = start_of_line(path, description.header_row);
    }
    messages.clear();
    const std::string part =
        open.text_table_start > 0 ? "/vsisubfile/" + std::to_string(open.text_table_start) + ',' + path : path;
    open.dataset.reset(GDALDataset::Open(part.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR,
                                         vector_drivers(), options.List(), nullptr));
    refuse_network(messages, open.place);
    if (!open.dataset) {
        refuse_other_drivers(open.place, path, GDAL_OF_VECTOR, vector_drivers());
        const std::string reason = shown_reason(messages.last(), path, description.source);
        if (reason.ends_with("not recognized as a supported file format")) {
            throw Error(open.place, "this is no file of a known format, or it is damaged",
                        "Use a GeoPackage, shapefile, GeoJSON, CSV or spreadsheet, and copy it again if it was one.");
        }
        // SQLite calls a change that was not ended an attempt to write, since only a writer may undo it.
        if (reason.find("readonly database") != std::string::npos &&
            std::filesystem::exists(path + "-journal", failure))
            throw Error(open.place, "a program was stopped while it wrote this file, and its change is half done",
                        "Open the file once in the program that wrote it, and save it. Keep " +
                            std::filesystem::path(shown).filename().string() + "-journal beside it until then.");
        throw Error(open.place, "cannot be opened" + (reason.empty() ? std::string() : " (" + reason + ")"),
                    connection ? "Check the connection, the name of the database and that the server runs."
                               : "The file seems damaged or cut short; copy it again, or save it again from the "
                                 "program it came from.");
    }
    const std::string driver = name_of_driver(*open.dataset);
    if (driver == "CSV" && std::filesystem::is_regular_file(path, failure)) open.text_table = path;
    open.has_row_of_names = has_header_row(driver);
    if (description.header_row > 1 && !open.has_row_of_names) {
        throw Error(open.place, "only CSV and spreadsheets have a row with the names of the columns",
                    "Take the key 'header_row' out.");
    }

    std::vector<std::string> names = layer_names(*open.dataset);
    if (!description.layer.empty()) {
        open.layer = open.dataset->GetLayerByName(description.layer.c_str());
        if (open.layer == nullptr) {
            names = by_nearness(description.layer, names);
            throw Error(
                open.place, "there is no layer '" + description.layer + "'",
                did_you_mean(description.layer, names) +
                    (names.empty() ? std::string("It has no layers at all.") : "Its layers: " + listed(names) + "."));
        }
        open.place.layer = open.layer->GetName();
    } else {
        std::erase_if(names, is_housekeeping);
        if (names.empty()) throw Error(open.place, "there is no layer in it", "Check that it is the right file.");
        if (names.size() > 1) {
            throw Error(open.place, "it has several layers and the survey file names none",
                        "Add the key 'layer' with one of: " + listed(names) + ".");
        }
        open.layer = open.dataset->GetLayerByName(names.front().c_str());
    }
    if (description.header_row > 1 && driver == "CSV") open.names_in_row = description.header_row;
    if (description.header_row > 1 && driver != "CSV") take_names_from(open, description.header_row);
    open.source = shown;
    if (names.size() > 1) open.source += std::string(":") + open.layer->GetName();
    return open;
}

GDALDatasetUniquePtr open_raster(const SurveyFile& file, const SourceDescription& description) {
    start_gdal();
    const std::string path = resolved_source(file, description.source);
    const std::string shown = shown_source(description.source);
    std::error_code failure;
    if (!is_connection(description.source, std::filesystem::absolute(file.path).parent_path())) {
        if (!std::filesystem::exists(path, failure)) no_such_file(shown, path);
        refuse_what_leads_elsewhere(path, shown);
        check_whole(path, shown);
    }
    const GdalMessages messages;
    GDALDatasetUniquePtr dataset(
        GDALDataset::Open(path.c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR, raster_drivers()));
    refuse_network(messages, {.source = shown});
    if (dataset && dataset->GetRasterCount() > 0) {
        refuse_overviews_elsewhere(*dataset, shown);
        return dataset;
    }
    refuse_other_drivers({.source = shown}, path, GDAL_OF_RASTER, raster_drivers());
    if (GDALIdentifyDriverEx(path.c_str(), GDAL_OF_VECTOR, nullptr, nullptr) != nullptr) {
        throw Error({.source = shown}, "this is no raster", "Give a raster of heights, such as a GeoTIFF.");
    }
    const std::string reason = shown_reason(messages.last(), path, description.source);
    throw Error({.source = shown},
                "the raster cannot be opened" + (reason.empty() ? std::string() : " (" + reason + ")"),
                "Give a raster of heights, such as a GeoTIFF, and copy it again if it is one.");
}

std::string crs_wkt(const OGRSpatialReference* reference) {
    if (reference == nullptr || reference->IsLocal()) return {};
    // A GeoPackage says 'undefined' by a system of that name.
    if (const char* name = reference->GetName(); name != nullptr && lower(name).starts_with("undefined")) return {};
    const std::array<const char*, 2> options = {"FORMAT=WKT2_2019", nullptr};
    char* text = nullptr;
    std::string wkt;
    if (reference->exportToWkt(&text, options.data()) == OGRERR_NONE && text != nullptr) wkt = text;
    CPLFree(text);
    return wkt;
}

std::string layer_crs_wkt(OGRLayer& layer) { return crs_wkt(layer.GetSpatialRef()); }

std::string plain_geometry_name(OGRwkbGeometryType type) {
    switch (wkbFlatten(type)) {
        case wkbPoint:
            return "point";
        case wkbMultiPoint:
            return "multipoint";
        case wkbLineString:
        case wkbCircularString:
        case wkbCompoundCurve:
        case wkbCurve:
            return "line";
        case wkbMultiLineString:
        case wkbMultiCurve:
            return "multiline";
        case wkbPolygon:
        case wkbCurvePolygon:
        case wkbTriangle:
        case wkbSurface:
            return "polygon";
        case wkbMultiPolygon:
        case wkbMultiSurface:
        case wkbPolyhedralSurface:
        case wkbTIN:
            return "multipolygon";
        case wkbGeometryCollection:
            return "collection";
        case wkbNone:
            return "no geometry";
        default:
            return "geometry of any kind";
    }
}

}  // namespace subcrop::io
