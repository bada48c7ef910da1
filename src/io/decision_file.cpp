#include "io/decision_file.hpp"

#include <sqlite3.h>
#include <sys/stat.h>

#include <algorithm>
#include <array>
#include <memory>
#include <nlohmann/json.hpp>
#include <utility>

#include "io/gdal_support.hpp"
#include "io/nearest_name.hpp"
#include "io/ogr_shapes.hpp"
#include "io/run_clock.hpp"
#include "io/safe_source.hpp"
#include "io/source_name.hpp"
#include "io/table.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {

namespace {

namespace fs = std::filesystem;

constexpr std::array<const char*, 4> known_decisions{"open", "accepted", "rejected", "later"};

bool known(const std::string& decision) {
    return std::find(known_decisions.begin(), known_decisions.end(), decision) != known_decisions.end();
}

std::string parts_text(const std::vector<DecisionRow::Part>& parts) {
    nlohmann::json json = nlohmann::json::array();
    for (const DecisionRow::Part& part : parts) json.push_back({part.from, part.to});
    return json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::vector<DecisionRow::Part> parts_of(const std::string& text) {
    std::vector<DecisionRow::Part> result;
    const auto json = nlohmann::json::parse(text, nullptr, false);
    if (!json.is_array()) return result;
    for (const auto& part : json)
        if (part.is_array() && part.size() == 2 && part[0].is_string() && part[1].is_string())
            result.push_back({part[0].get<std::string>(), part[1].get<std::string>()});
    return result;
}

std::string joined(const std::vector<std::string>& names) {
    std::string text;
    for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
    return text;
}

std::vector<std::string> names_of(const std::string& text) {
    std::vector<std::string> names;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find(", ", at), text.size());
        names.push_back(text.substr(at, end - at));
        at = end + 2;
    }
    return names;
}

/// Values of a row besides its geometry, by column name.
struct Cells {
    const OGRFeature& feature;

    std::string text(const char* name) const {
        const int index = feature.GetFieldIndex(name);
        return index < 0 || !feature.IsFieldSetAndNotNull(index) ? std::string() : feature.GetFieldAsString(index);
    }
    std::optional<double> number(const char* name) const {
        const int index = feature.GetFieldIndex(name);
        return index < 0 || !feature.IsFieldSetAndNotNull(index) ? std::nullopt
                                                                 : std::optional(feature.GetFieldAsDouble(index));
    }
};

MultiPolygon ground_of(const OGRGeometry* geometry) {
    MultiPolygon ground;
    if (geometry == nullptr) return ground;
    if (wkbFlatten(geometry->getGeometryType()) == wkbPolygon) {
        if (!geometry->IsEmpty()) ground.push_back(polygon_of(*geometry->toPolygon()));
    } else if (wkbFlatten(geometry->getGeometryType()) == wkbMultiPolygon) {
        for (const OGRPolygon* part : *geometry->toMultiPolygon())
            if (!part->IsEmpty()) ground.push_back(polygon_of(*part));
    }
    return ground;
}

/// If the layer is in another system than the wanted one.
void bring_into(const std::string& from_wkt, const std::string& to_wkt, std::vector<DecisionRow>& rows) {
    if (from_wkt.empty() || to_wkt.empty() || rows.empty() || from_wkt == to_wkt) return;
    const geo::Crs from(from_wkt), to(to_wkt);
    if (from.same_as(to)) return;
    std::vector<Point> sample;
    for (const DecisionRow& row : rows)
        for (const Polygon& polygon : row.ground) sample.push_back(polygon.shell.front());
    if (sample.empty()) return;
    sample.resize(std::min<std::size_t>(sample.size(), 1000));
    const geo::Transformation operation(from, to, sample, {.allow_ballpark = true, .source = {}});
    for (DecisionRow& row : rows) {
        for (Polygon& polygon : row.ground) {
            operation.apply(polygon.shell);
            for (Ring& hole : polygon.holes) operation.apply(hole);
        }
    }
}

/// Undoes what a killed program left half written. SQLite does so by itself, but not for a reader that may not write.
void end_half_written_change(const fs::path& file) {
    std::error_code none;
    if (fs::file_size(file.string() + "-journal", none) == 0 || none) return;
    sqlite3* database = nullptr;
    if (sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READWRITE, nullptr) == SQLITE_OK)
        sqlite3_exec(database, "SELECT count(*) FROM sqlite_master", nullptr, nullptr, nullptr);
    sqlite3_close_v2(database);
}

/// Null where the file cannot be opened; GDAL's message says why.
GDALDatasetUniquePtr opened_for_reading(const fs::path& file) {
    end_half_written_change(file);
    const std::array<const char*, 2> drivers{"GPKG", nullptr};
    return GDALDatasetUniquePtr(
        GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY, drivers.data(), nullptr, nullptr));
}

[[noreturn]] void not_read(const fs::path& file, const GdalMessages& messages) {
    throw Error({.source = file.string()}, "the GeoPackage cannot be read (" + messages.last() + ")",
                "Restore it from a copy, or move it away to begin anew.");
}

[[noreturn]] void not_written(const fs::path& file, const GdalMessages& messages) {
    const std::string reason = messages.last();
    const bool locked = reason.find("locked") != std::string::npos || reason.find("busy") != std::string::npos;
    if (locked)
        throw Error({.source = file.string()}, "another program is writing this file, so nothing was changed in it",
                    "Save or end the editing of its layer there, then try again.");
    throw Error({.source = file.string()},
                "the decisions cannot be written" + (reason.empty() ? std::string() : " (" + reason + ")"),
                "Check the rights to the file and its folder, and the room on the disk.");
}

void fill(const DecisionRow& row, OGRFeature& feature) {
    const auto text = [&](const char* name, const std::string& value) {
        value.empty() ? feature.SetFieldNull(feature.GetFieldIndex(name)) : feature.SetField(name, value.c_str());
    };
    const auto number = [&](const char* name, const std::optional<double>& value) {
        value ? feature.SetField(name, *value) : feature.SetFieldNull(feature.GetFieldIndex(name));
    };
    text("id", row.id);
    text("kind", row.kind);
    text("units", row.units);
    text("stop", row.stop);
    text("what", row.what);
    text("decision", row.decision);
    text("why", row.why);
    text("decided_on", row.decided_on);
    number("probability", row.probability);
    number("hectares", row.hectares);
    feature.SetField("stops", static_cast<int>(row.stops.size()));
    text("stop_names", joined(row.stops));
    text("units_by_part", parts_text(row.parts));
    auto ground = std::make_unique<OGRMultiPolygon>();
    for (const Polygon& polygon : row.ground) {
        auto part = std::make_unique<OGRPolygon>();
        const auto add = [&](const Ring& ring) {
            auto line = std::make_unique<OGRLinearRing>();
            for (const Point p : ring) line->addPoint(p.x, p.y);
            part->addRingDirectly(line.release());
        };
        add(polygon.shell);
        for (const Ring& hole : polygon.holes) add(hole);
        ground->addGeometryDirectly(part.release());
    }
    feature.SetGeometryDirectly(ground.release());
}

}  // namespace

Domain decision_domain() {
    return {.name = "decision",
            .codes = {{"open", "Not decided yet"},
                      {"accepted", "Right: 'adopt' carries it out"},
                      {"rejected", "Wrong: not asked again until new stops bear on it"},
                      {"later", "To be decided later; listed last"}}};
}

std::vector<FieldDefinition> decision_columns() {
    return {
        {.name = "id",
         .type = FieldType::text,
         .description = "Name of the proposal, the same in every run while the matter is the same."},
        {.name = "kind", .type = FieldType::text, .description = "What is proposed."},
        {.name = "units",
         .type = FieldType::text,
         .description = "Of an area: unit drawn > unit proposed. Of a contact: its two units."},
        {.name = "stop", .type = FieldType::text, .description = "Stop that deserves a second look."},
        {.name = "what", .type = FieldType::text, .description = "What to do, in a sentence."},
        {.name = "decision",
         .type = FieldType::text,
         .description = "Your decision; change it here, in the page or by 'subcrop decide'.",
         .domain = "decision"},
        {.name = "why", .type = FieldType::text, .description = "Your reason."},
        {.name = "decided_on", .type = FieldType::text, .description = "Date and time of the decision, UTC."},
        {.name = "probability",
         .type = FieldType::real,
         .description = "Probability of the proposed unit, mean over the area; 0 to 1."},
        {.name = "hectares", .type = FieldType::real, .description = "Area that changes, hectares."},
        {.name = "stops", .type = FieldType::integer, .description = "Number of stops that bear on it."},
        {.name = "stop_names", .type = FieldType::text, .description = "Their names."},
        {.name = "units_by_part",
         .type = FieldType::text,
         .description = "Unit drawn and unit proposed of each part of the area, as JSON; for the program."},
    };
}

void append_decision(const DecisionRow& row, RowBatch& rows) {
    row.ground.empty() ? rows.absent() : rows.multipolygon(row.ground);
    rows.text(row.id).text(row.kind).text_or_absent(row.units).text_or_absent(row.stop).text(row.what);
    rows.text(row.decision).text_or_absent(row.why).text_or_absent(row.decided_on);
    rows.real_or_absent(row.probability).real_or_absent(row.hectares);
    rows.integer(static_cast<std::int64_t>(row.stops.size())).text_or_absent(joined(row.stops));
    rows.text(parts_text(row.parts));
}

std::vector<DecisionRow> read_decisions(const fs::path& file, const std::string& layer_name, const std::string& crs_wkt,
                                        ProblemLog& problems) {
    std::error_code none;
    if (!fs::exists(file, none)) return {};
    start_gdal();
    refuse_what_leads_elsewhere(file, file.string());
    GdalMessages messages;
    const GDALDatasetUniquePtr dataset = opened_for_reading(file);
    if (!dataset) not_read(file, messages);
    OGRLayer* const layer = dataset->GetLayerByName(layer_name.c_str());
    if (layer == nullptr) return {};
    std::vector<DecisionRow> rows;
    for (const auto& feature : layer) {
        const Cells cells{*feature};
        DecisionRow row;
        row.id = cells.text("id");
        row.kind = cells.text("kind");
        row.units = cells.text("units");
        row.stop = cells.text("stop");
        row.what = cells.text("what");
        row.decision = cells.text("decision");
        row.why = cells.text("why");
        row.decided_on = cells.text("decided_on");
        row.probability = cells.number("probability");
        row.hectares = cells.number("hectares");
        row.stops = names_of(cells.text("stop_names"));
        row.parts = parts_of(cells.text("units_by_part"));
        row.note = cells.text("note");
        row.decision_then = cells.text("decision_then");
        row.ground = ground_of(feature->GetGeometryRef());
        if (row.decision.empty()) row.decision = "open";
        if (row.id.empty()) continue;
        if (!known(row.decision)) {
            problems.add({.severity = Severity::warning,
                          .source = file.string() + ":" + layer_name,
                          .row = feature->GetFID(),
                          .field = "decision",
                          .value = row.decision,
                          .message = "this is no decision; the proposal counts as open",
                          .remedy = "Write open, accepted, rejected or later.",
                          .position = std::nullopt});
            row.decision = "open";
        }
        rows.push_back(std::move(row));
    }
    if (messages.failures() > 0) not_read(file, messages);
    bring_into(layer_crs_wkt(*layer), crs_wkt, rows);
    return rows;
}

fs::path decisions_file(const SurveyFile& survey) { return survey.path.parent_path() / "decisions.gpkg"; }

fs::path decision_table(const SurveyFile& survey) { return survey.path.parent_path() / "decisions.csv"; }

std::vector<DecisionRow> read_decision_table(const fs::path& csv, ProblemLog& problems) {
    std::error_code none;
    if (!fs::exists(csv, none)) return {};
    SurveyFile file;
    file.path = csv;
    SourceDescription description;
    description.source = csv.filename();
    Table table(open_layer(file, description), description, "decisions", problems);
    const Column id = table.require("id"), decision = table.require("decision"), why = table.find("why"),
                 decided_on = table.find("decided_on");
    std::vector<DecisionRow> rows;
    while (table.next()) {
        DecisionRow row;
        row.id = table.text(id);
        row.decision = table.text(decision);
        if (why.present()) row.why = table.text(why);
        if (decided_on.present()) row.decided_on = table.text(decided_on);
        if (row.id.empty() || row.decision.empty()) continue;
        if (!known(row.decision)) {
            table.report(Severity::warning, decision, row.decision, "this is no decision; the row is passed over",
                         "Write open, accepted, rejected or later.");
            continue;
        }
        rows.push_back(std::move(row));
    }
    return rows;
}

void write_decisions(const fs::path& file, const std::string& crs_wkt, const std::vector<DecisionRow>& rows) {
    if (rows.empty()) return;
    std::error_code none;
    if (!fs::exists(file, none)) {
        LayerWriter empty(file, crs_wkt,
                          {.domains = {decision_domain()},
                           .layers = {{.name = decisions_layer,
                                       .title = "Decisions on proposals",
                                       .description = "What was decided on each proposal, and on what evidence. No run "
                                                      "replaces this file.",
                                       .geometry = GeometryKind::multipolygon,
                                       .fields = decision_columns()}}});
        empty.finish();
    }
    start_gdal();
    GdalMessages messages;
    const std::array<const char*, 2> drivers{"GPKG", nullptr};
    const GDALDatasetUniquePtr dataset(
        GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_UPDATE, drivers.data(), nullptr, nullptr));
    OGRLayer* const layer = dataset ? dataset->GetLayerByName(decisions_layer) : nullptr;
    if (layer == nullptr) not_written(file, messages);
    if (dataset->StartTransaction() != OGRERR_NONE) not_written(file, messages);
    std::vector<DecisionRow> stored = rows;
    bring_into(crs_wkt, layer_crs_wkt(*layer), stored);
    for (const DecisionRow& row : stored) {
        const std::string wanted = "id = '" + replaced(row.id, "'", "''") + "'";
        layer->SetAttributeFilter(wanted.c_str());
        layer->ResetReading();
        OGRFeatureUniquePtr feature(layer->GetNextFeature());
        const bool there = feature != nullptr;
        if (!there) feature.reset(OGRFeature::CreateFeature(layer->GetLayerDefn()));
        fill(row, *feature);
        const OGRErr done = there ? layer->SetFeature(feature.get()) : layer->CreateFeature(feature.get());
        if (done != OGRERR_NONE || messages.failures() > 0) {
            dataset->RollbackTransaction();
            not_written(file, messages);
        }
    }
    layer->SetAttributeFilter(nullptr);
    if (dataset->CommitTransaction() != OGRERR_NONE || messages.failures() > 0) {
        dataset->RollbackTransaction();
        not_written(file, messages);
    }
}

std::string decision_crs(const fs::path& results_file) {
    std::error_code none;
    if (!fs::exists(results_file, none)) return {};
    start_gdal();
    refuse_what_leads_elsewhere(results_file, results_file.string());
    const GdalMessages messages;
    const GDALDatasetUniquePtr dataset = opened_for_reading(results_file);
    OGRLayer* const layer = dataset ? dataset->GetLayerByName("proposals") : nullptr;
    return layer != nullptr ? layer_crs_wkt(*layer) : std::string();
}

std::string written_on(const fs::path& file) {
    struct stat state {};
    return ::stat(file.c_str(), &state) == 0 ? utc_text(state.st_mtime, "%Y-%m-%dT%H:%M:%SZ") : std::string();
}

}  // namespace subcrop::io
