#include "subcrop/io/new_survey.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <nlohmann/json.hpp>
#include <utility>

#include "io/book_columns.hpp"
#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/sqlite_file.hpp"
#include "io/survey_keys.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr const char* book_file = "field_book.gpkg";
constexpr const char* map_file = "draft_map.gpkg";
constexpr const char* map_layer = "units";

const Domain* domain_of(const BookColumn& column) {
    for (const Domain& domain : book_domains())
        if (domain.name == column.domain) return &domain;
    return nullptr;
}

/// "centimetres, 0 to 3000", "one of the list below", "yes or no".
std::string what_it_takes(const BookColumn& column) {
    switch (column.type) {
        case FieldType::boolean:
            return "yes or no";
        case FieldType::date:
            return "a date";
        case FieldType::text:
            break;
        case FieldType::integer:
        case FieldType::real: {
            const std::string_view unit = name_of(column.rule.unit);
            std::string text(unit.empty() ? "a number" : unit);
            const Domain* domain = domain_of(column);
            if (domain != nullptr && domain->range)
                text += ", " + number_text(domain->range->min) + " to " + number_text(domain->range->max);
            return text;
        }
    }
    const Domain* domain = domain_of(column);
    return domain != nullptr && !domain->codes.empty() ? "one of this list" : "text";
}

std::string described(const BookColumn& column) {
    const std::string_view unit = name_of(column.rule.unit);
    std::string text = column.description;
    if (!unit.empty()) text.insert(text.find_last_of('.'), ", in " + std::string(unit));
    return text + " Example: " + column.example;
}

LayerDefinition layer_of(std::string name, std::string title, GeometryKind geometry,
                         const std::vector<BookColumn>& columns) {
    LayerDefinition layer{.name = std::move(name), .title = std::move(title), .geometry = geometry};
    for (const BookColumn& column : columns)
        layer.fields.push_back({column.name, column.type, described(column), column.domain});
    return layer;
}

std::vector<BookColumn> horizon_table(const BookColumn& owner) {
    std::vector<BookColumn> columns = {owner};
    columns.insert(columns.end(), horizon_book().begin(), horizon_book().end());
    return columns;
}

void write_book(const fs::path& file, const std::string& crs_wkt) {
    LayerWriter(file, crs_wkt,
                {.domains = book_domains(),
                 .layers = {layer_of("stops", "Stops", GeometryKind::point, stop_book()),
                            layer_of("horizons", "Horizons of the stops", GeometryKind::none,
                                     horizon_table(horizon_stop_column())),
                            layer_of("boreholes", "Boreholes", GeometryKind::point, borehole_book()),
                            layer_of("borehole_logs", "Horizons of the boreholes", GeometryKind::none,
                                     horizon_table(log_hole_column())),
                            layer_of("attitudes", "Strikes and dips", GeometryKind::point, attitude_book()),
                            layer_of("legend", "Legend of the map", GeometryKind::none, legend_book())}})
        .finish();
}

void write_map(const fs::path& file, const std::string& crs_wkt) {
    LayerWriter(file, crs_wkt,
                {.layers = {layer_of(map_layer, "Draft geologic map", GeometryKind::multipolygon, map_book())}})
        .finish();
}

/// A new file, never an old one's place.
void write_text(const fs::path& file, const std::string& text) {
    std::FILE* out = std::fopen(file.c_str(), "wx");
    if (out == nullptr) throw write_failure(file, std::strerror(errno), errno);
    const bool whole = std::fwrite(text.data(), 1, text.size(), out) == text.size();
    const int reason = errno;
    if (std::fclose(out) != 0 || !whole) {
        std::error_code ignored;
        fs::remove(file, ignored);
        throw write_failure(file, "it cannot be written whole", reason);
    }
}

std::string header_line(const std::vector<BookColumn>& columns) {
    std::string line;
    for (const BookColumn& column : columns) line += (line.empty() ? "" : ",") + column.name;
    return line + '\n';
}

/// The columns of a table of points in text, its coordinates after the first `names` columns.
std::vector<BookColumn> with_place(const std::vector<BookColumn>& book, const geo::Crs& crs, std::ptrdiff_t names) {
    std::vector<BookColumn> columns(book.begin(), book.begin() + names);
    columns.push_back(
        {"x", FieldType::real, "East or longitude, in " + crs.name() + '.', crs.geographic() ? "3.0125" : "501400"});
    columns.push_back({"y", FieldType::real, "North or latitude.", crs.geographic() ? "56.2350" : "6232500"});
    columns.insert(columns.end(), book.begin() + names, book.end());
    return columns;
}

/// Each column with what it takes and an example.
std::string list_of(const std::vector<BookColumn>& columns) {
    std::size_t names = 0;
    for (const BookColumn& column : columns) names = std::max(names, column.name.size());
    const std::string indent(names + 4, ' ');
    std::string text;
    for (const BookColumn& column : columns) {
        text += "  " + column.name + std::string(names + 2 - column.name.size(), ' ') + what_it_takes(column) +
                ", such as " + column.example + '\n' + indent + column.description + '\n';
        const Domain* domain = domain_of(column);
        if (domain != nullptr && !domain->codes.empty()) {
            std::string line = indent;
            for (const CodedValue& value : domain->codes) {
                if (value.code != value.meaning) {
                    text += indent + "  " + value.code + "  " + value.meaning + '\n';
                    continue;
                }
                line += (line == indent ? "  " : " ") + value.code + (&value == &domain->codes.back() ? "" : ",");
                if (line.size() > 85) {
                    text += line + '\n';
                    line = indent;
                }
            }
            if (line != indent) text += line + '\n';
        }
        if (column.name == "designation") {
            for (const field::MasterHorizon& master : field::master_horizons())
                text += indent + "  " + master.letter + "  " + std::string(master.meaning) + '\n';
        }
    }
    return text;
}

/// Each key with its standard value.
std::string list_of(const std::vector<SurveyKey>& keys) {
    std::size_t names = 0;
    for (const SurveyKey& key : keys) names = std::max(names, key.name.size());
    std::string text;
    for (const SurveyKey& key : keys) {
        text += "  " + std::string(key.name) + std::string(names + 2 - key.name.size(), ' ') + std::string(key.meaning);
        text += key.standard.empty() ? "\n" : " Standard: " + std::string(key.standard) + ".\n";
    }
    return text;
}

std::string columns_text(const NewSurvey& wanted, const geo::Crs& crs) {
    const auto points = [&](const std::vector<BookColumn>& book, std::ptrdiff_t names) {
        return list_of(wanted.csv ? with_place(book, crs, names) : book);
    };
    return "What each column takes. Every cell may stay empty except the name of the stop and its place.\n\nStops\n" +
           points(stop_book(), 1) + "\nHorizons: one row for each horizon of a stop, from the top down\n" +
           list_of(horizon_table(horizon_stop_column())) +
           "\nBoreholes, if there are any: depths in metres below the land surface\n" + points(borehole_book(), 1) +
           "\nLogs of the boreholes: one row for each horizon of a hole, from the top down, in centimetres. The "
           "columns are those of horizons, after\n" +
           list_of({log_hole_column()}) +
           "\nAttitudes, if there are any: strikes and dips of beds; used if the survey has a terrain\n" +
           points(attitude_book(), 0) + "\nLegend: one row for each map unit\n" + list_of(legend_book()) +
           "\nDraft map: one polygon for each area of a unit\n" + list_of(map_book()) + "\nKeys of the survey file\n" +
           list_of(survey_keys()) + "\nKeys of a table in the survey file, such as of stops\n" +
           list_of(source_keys()) + "\nSettings: keys under 'settings' in the survey file\n" + list_of(settings_keys());
}

/// `"key": value`, the value as JSON.
std::string entry(std::string_view key, const Json& value) {
    return '"' + std::string(key) + "\": " + value.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// By hand, since JSON's own layouts do not give one source a line.
std::string survey_text(const NewSurvey& wanted, const std::string& title) {
    const auto source = [&](const std::string& layer) {
        return wanted.csv ? entry("source", layer + ".csv") : entry("source", book_file) + ", " + entry("layer", layer);
    };
    const auto points = [&](const std::string& layer) {
        return source(layer) + (wanted.csv
                                    ? ", " + entry("x", "x") + ", " + entry("y", "y") + ", " + entry("crs", wanted.crs)
                                    : std::string());
    };
    return "{\n  " + entry("title", title) + ",\n  \"stops\":    {" + points("stops") + "},\n  \"horizons\": {" +
           source("horizons") + "},\n  \"boreholes\": {" + points("boreholes") + "},\n  \"borehole_logs\": {" +
           source("borehole_logs") + "},\n  \"attitudes\": {" + points("attitudes") + "},\n  \"map\":      {" +
           entry("source", map_file) + ", " + entry("layer", map_layer) +
           ", \"contact_sd_m\": " + number_text(model::Survey().contact_sd_m) + "},\n  \"legend\":   {" +
           source("legend") + "},\n  " + entry("results", "results") + "\n}\n";
}

}  // namespace

std::vector<fs::path> write_new_survey(const NewSurvey& wanted) {
    const fs::path folder = wanted.folder.lexically_normal();
    std::vector<std::string> names = {"survey.json"};
    if (wanted.csv)
        names.insert(names.end(), {"stops.csv", "horizons.csv", "boreholes.csv", "borehole_logs.csv", "attitudes.csv",
                                   "legend.csv"});
    else
        names.emplace_back(book_file);
    names.insert(names.end(), {map_file, "columns.txt"});

    std::vector<fs::path> files;
    std::vector<std::string> present;
    for (const std::string& name : names) {
        files.push_back(folder / name);
        if (fs::exists(fs::symlink_status(files.back()))) present.push_back(name);
    }
    if (!present.empty()) {
        throw Error(file_place(folder),
                    "in this folder there " + std::string(present.size() == 1 ? "is" : "are") + " already " +
                        listed(present) + "; nothing was written",
                    "Name a new folder, or move what is there aside.");
    }
    const geo::Crs crs(wanted.crs);
    const std::string wkt = crs.wkt();
    write_map(folder / map_file, wkt);
    if (wanted.csv) {
        write_text(folder / "stops.csv", header_line(with_place(stop_book(), crs, 1)));
        write_text(folder / "horizons.csv", header_line(horizon_table(horizon_stop_column())));
        write_text(folder / "boreholes.csv", header_line(with_place(borehole_book(), crs, 1)));
        write_text(folder / "borehole_logs.csv", header_line(horizon_table(log_hole_column())));
        write_text(folder / "attitudes.csv", header_line(with_place(attitude_book(), crs, 0)));
        write_text(folder / "legend.csv", header_line(legend_book()));
    } else {
        write_book(folder / book_file, wkt);
    }
    write_text(folder / "columns.txt", columns_text(wanted, crs));
    fs::path name = fs::absolute(folder).lexically_normal();
    if (!name.has_filename()) name = name.parent_path();
    write_text(folder / "survey.json",
               survey_text(wanted, wanted.title.empty() ? name.filename().string() : wanted.title));
    return files;
}

std::vector<EmptySource> find_empty_sources(const SurveyFile& file) {
    std::vector<EmptySource> empty;
    const auto look = [&](const char* key, const SourceDescription& description, bool needed) {
        const GdalMessages messages;  // outlives the dataset
        const OpenLayer open = open_layer(file, description);
        open.layer->ResetReading();
        const OGRFeatureUniquePtr first(open.layer->GetNextFeature());
        if (!first && messages.failures() == 0) empty.push_back({key, open.source, needed});
    };
    look("stops", file.stops, true);
    if (file.map) look("map", *file.map, true);
    if (file.horizons) look("horizons", *file.horizons, false);
    if (file.legend) look("legend", *file.legend, false);
    return empty;
}

}  // namespace subcrop::io
