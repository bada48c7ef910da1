#include "publish/other_formats.hpp"

#include <gdal_utils.h>
#include <ogrsf_frmts.h>

#include <memory>
#include <ostream>

#include "io/gdal_support.hpp"
#include "io/pending_file.hpp"
#include "io/sqlite_file.hpp"
#include "publish/csv_text.hpp"
#include "publish/shapefile.hpp"

namespace subcrop::publish {

namespace {

/// Points as x and y, other geometry as well-known text: so that spreadsheets and scripts can use it.
void write_csv(OGRLayer& layer, std::ostream& out) {
    const OGRwkbGeometryType type = wkbFlatten(layer.GetGeomType());
    const bool point = type == wkbPoint, other = !point && type != wkbNone;
    OGRFeatureDefn& definition = *layer.GetLayerDefn();
    out << "fid";  // other layers refer to it
    for (int i = 0; i < definition.GetFieldCount(); ++i)
        out << ',' << csv_text(definition.GetFieldDefn(i)->GetNameRef());
    out << (point ? ",x,y" : other ? ",geometry" : "") << "\r\n";
    for (const auto& feature : layer) {
        out << feature->GetFID();
        for (int i = 0; i < definition.GetFieldCount(); ++i) {
            out << ',';
            if (!feature->IsFieldSetAndNotNull(i)) continue;
            switch (definition.GetFieldDefn(i)->GetType()) {
                case OFTInteger:
                case OFTInteger64:
                    out << feature->GetFieldAsInteger64(i);
                    break;
                case OFTReal:
                    out << csv_number(feature->GetFieldAsDouble(i));
                    break;
                default:
                    out << csv_text(feature->GetFieldAsString(i));
            }
        }
        const OGRGeometry* geometry = feature->GetGeometryRef();
        if (point) {
            out << ',';
            if (geometry != nullptr)
                out << csv_number(geometry->toPoint()->getX()) << ',' << csv_number(geometry->toPoint()->getY());
            else
                out << ',';
        } else if (other) {
            out << ',';
            if (geometry != nullptr) out << csv_text(geometry->exportToWkt());
        }
        out << "\r\n";
    }
}

struct Options {
    explicit Options(const std::vector<std::string>& words) {
        for (const std::string& word : words) list.AddString(word.c_str());
        options = GDALVectorTranslateOptionsNew(list.List(), nullptr);
    }
    ~Options() { GDALVectorTranslateOptionsFree(options); }
    Options(const Options&) = delete;
    Options& operator=(const Options&) = delete;
    CPLStringList list;
    GDALVectorTranslateOptions* options = nullptr;
};

void translate(GDALDataset& from, const std::filesystem::path& target, const std::vector<std::string>& words,
               io::PendingFiles& together) {
    auto pending = std::make_unique<io::PendingFile>(target);
    io::PendingFile& file = *pending;
    io::GdalMessages messages;
    const Options options(words);
    GDALDatasetH source = GDALDataset::ToHandle(&from);
    int failed = 0;
    GDALDatasetH made = GDALVectorTranslate(file.temporary().c_str(), nullptr, 1, &source, options.options, &failed);
    if (made != nullptr) GDALClose(made);
    file.lock();  // whatever was written of it goes when this ends without a rename
    if (made == nullptr || failed != 0 || messages.failures() > 0) throw io::write_failure(target, messages.last(), 0);
    together.take(std::move(pending));
}

bool some_row_has_no_place(OGRLayer& layer) {
    for (const auto& feature : layer)
        if (feature->GetGeometryRef() == nullptr) return true;
    return false;
}

/// How a layer is written in formats with only a name, a description and a kind. OGR SQL.
struct Told {
    const char *layer, *name, *description, *kind;
    bool lines = false;  ///< tracks in GPX; else waypoints
};

constexpr Told told_layers[] = {
    {"stop_fit", "stop", "reason", "verdict"},
    {"contact_review", "CONCAT(unit_a, '-', unit_b)", "review", "'contact'", true},
    {"contact_stretches", "CONCAT(unit_a, '-', unit_b)", "review", "'contact stretch'", true},
    {"relocated_contacts", "CONCAT(unit_a, '-', unit_b)", "location_class", "'relocated contact'", true},
    {"traverse_crossings", "CONCAT(traverse, ' ', from_unit, '-', to_unit)", "status", "'crossing'"},
    {"next_stops", "CAST(rank AS character(8))", "purpose", "'next stop'"}};

/// Null if the layer does not fit into GPX.
const Told* told(const std::string& layer) {
    for (const Told& one : told_layers)
        if (layer == one.layer) return &one;
    return nullptr;
}

bool fits_kml(const io::LayerDefinition& layer) {
    return layer.geometry != io::GeometryKind::none && layer.name != "problems" && layer.name != "changes";
}

void write_kml_layer(GDALDataset& file, const std::string& name, const std::filesystem::path& folder,
                     io::PendingFiles& together) {
    const Told* words = told(name);
    const std::string what =
        words != nullptr ? std::string(words->name) + " AS Name, " + words->description + " AS Description, *" : "*";
    translate(file, folder / (name + ".kml"),
              {"-f", "LIBKML", "-t_srs", "EPSG:4326", "-dialect", "OGRSQL", "-sql",
               "SELECT " + what + " FROM \"" + name + '"', "-nln", name},
              together);
}

void write_gpx_layer(GDALDataset& file, const Told& words, const std::filesystem::path& folder,
                     io::PendingFiles& together) {
    const std::string name = words.layer;
    std::vector<std::string> options = {"-f",
                                        "GPX",
                                        "-t_srs",
                                        "EPSG:4326",
                                        "-dialect",
                                        "OGRSQL",
                                        "-sql",
                                        std::string("SELECT ") + words.name + " AS name, " + words.description +
                                            " AS \"desc\", " + words.kind + " AS type FROM \"" + name + '"',
                                        "-nln",
                                        words.lines ? "tracks" : "waypoints"};
    if (words.lines) options.insert(options.end(), {"-nlt", "MULTILINESTRING"});
    translate(file, folder / (name + ".gpx"), options, together);
}

}  // namespace

std::vector<CutTexts> write_other_format(const std::filesystem::path& results, OutputFormat format,
                                         const io::FileDefinition& definition) {
    io::PendingFiles alone;
    std::vector<CutTexts> cut = write_other_format(results, results.parent_path(), format, definition, alone);
    alone.put_in_place();
    return cut;
}

std::vector<std::filesystem::path> files_written_for(const std::filesystem::path& folder, OutputFormat format,
                                                     const io::FileDefinition& definition) {
    std::vector<std::filesystem::path> files;
    const auto add = [&](const std::string& name, const std::vector<std::string>& parts = {},
                         const std::vector<std::string>& indexes = {}) {
        const auto more = io::files_written_for(folder / folder_of(format) / name, parts, indexes);
        files.insert(files.end(), more.begin(), more.end());
    };
    for (const io::LayerDefinition& layer : definition.layers) {
        if (format == OutputFormat::kml || format == OutputFormat::gpx) {
            if (format == OutputFormat::kml && fits_kml(layer)) add(layer.name + ".kml");
            if (format == OutputFormat::gpx && told(layer.name) != nullptr) add(layer.name + ".gpx");
            continue;
        }
        add(layer.name + ".csv");
        if (format == OutputFormat::geojson) add(layer.name + ".geojson");
        if (format == OutputFormat::flatgeobuf) add(layer.name + ".fgb");
        if (format == OutputFormat::shapefile) add(layer.name + ".shp", shapefile_parts, shapefile_indexes);
    }
    if (format == OutputFormat::shapefile) add("columns.csv");
    return files;
}

std::vector<CutTexts> write_other_format(const std::filesystem::path& results,
                                         const std::filesystem::path& results_folder, OutputFormat format,
                                         const io::FileDefinition& definition, io::PendingFiles& together) {
    const std::filesystem::path folder = results_folder / folder_of(format);
    const GDALDatasetUniquePtr file(GDALDataset::Open(results.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    if (!file) throw Error(io::file_place(results), "it cannot be read again to write it in another format");
    if (format == OutputFormat::kml || format == OutputFormat::gpx) {
        for (const io::LayerDefinition& layer : definition.layers) {
            if (format == OutputFormat::kml && fits_kml(layer)) write_kml_layer(*file, layer.name, folder, together);
            if (const Told* words = told(layer.name); words != nullptr && format == OutputFormat::gpx)
                write_gpx_layer(*file, *words, folder, together);
        }
        return {};
    }
    ShapefileFolder shapefiles(folder, definition, together);
    for (OGRLayer* layer : file->GetLayers()) {
        const std::string name = layer->GetName();
        if (name == "layer_styles") continue;
        // GDAL 3.6 drops rows without a place from FlatGeobuf.
        const bool table = format == OutputFormat::csv || layer->GetGeomType() == wkbNone ||
                           (format == OutputFormat::flatgeobuf && some_row_has_no_place(*layer));
        if (format == OutputFormat::shapefile && !table) {
            shapefiles.write(*layer);
            continue;
        }
        if (table)
            together.write(folder / (name + ".csv"), [&](std::ostream& out) { write_csv(*layer, out); });
        else if (format == OutputFormat::geojson)
            translate(*file, folder / (name + ".geojson"),
                      {"-f", "GeoJSON", "-lco", "RFC7946=YES", "-preserve_fid", name}, together);
        // It renumbers its rows in the order of its index. So the ids that other layers refer to are in a column.
        else
            translate(*file, folder / (name + ".fgb"),
                      {"-f", "FlatGeobuf", "-dialect", "OGRSQL", "-sql", "SELECT FID AS fid, * FROM \"" + name + '"',
                       "-nln", name},
                      together);
    }
    if (format == OutputFormat::shapefile) shapefiles.write_columns();
    return shapefiles.cut_texts();
}

}  // namespace subcrop::publish
