// Proposals and the user's decisions in files: in the layer `proposals` of results.gpkg, in decisions.gpkg (which no
// run replaces), and in a decisions.csv written by the page or a spreadsheet.
//
//     for (const DecisionRow& row : read_decisions("decisions.gpkg", "decisions", survey.crs_wkt)) row.id, row.decision
//     write_decisions("decisions.gpkg", survey.crs_wkt, changed);   // all or none; other rows stay
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// One proposal. Units are codes, since their order may change between runs.
struct DecisionRow {
    std::string id, kind, units, what;
    std::string decision = "open", why = {};
    std::string decided_on = {};  ///< "2026-12-01T05:20:33Z"; empty: never
    std::optional<double> probability = {}, hectares = {};
    std::vector<std::string> stops = {};  ///< ids of those that bore on it when it was decided
    std::string stop = {};                ///< of a second look
    struct Part {
        std::string from, to;
        friend bool operator==(const Part&, const Part&) = default;
    };
    std::vector<Part> parts = {};  ///< of each polygon of `ground`
    MultiPolygon ground = {};      ///< in the working projection
    std::string note = {};
    /// The decision known to the run that wrote the row (layer `proposals` only). If it differs now, the user changed
    /// it.
    std::string decision_then = {};
};

inline constexpr const char* decisions_layer = "decisions";

/// decisions.gpkg and decisions.csv beside the survey file.
std::filesystem::path decisions_file(const SurveyFile& survey);
std::filesystem::path decision_table(const SurveyFile& survey);

/// The columns of `decisions`, which `proposals` has too, in the order of `append_decision`.
std::vector<FieldDefinition> decision_columns();
/// The pick list of the column `decision`.
Domain decision_domain();
/// Adds a row with these columns, its area first. The caller adds further columns and ends the row.
void append_decision(const DecisionRow& row, RowBatch& rows);

/// Nothing if there is no such file or layer. Areas in another system are transformed to `crs_wkt`. Unusable rows
/// become problems. Throws Error if the file cannot be read.
std::vector<DecisionRow> read_decisions(const std::filesystem::path& file, const std::string& layer,
                                        const std::string& crs_wkt, ProblemLog& problems);

/// Of a table with columns `id`, `decision` and perhaps `why` and `decided_on`.
std::vector<DecisionRow> read_decision_table(const std::filesystem::path& csv, ProblemLog& problems);

/// Writes the rows in one transaction and replaces those with the same id. Makes a missing file. Throws Error if
/// another program is writing it, or if it cannot be written; it then stays as it was.
void write_decisions(const std::filesystem::path& file, const std::string& crs_wkt,
                     const std::vector<DecisionRow>& rows);

/// WKT of the system in which the last run wrote its proposals; empty: there is no such file or layer.
std::string decision_crs(const std::filesystem::path& results_file);

/// When the file was last written, "2026-12-01T05:20:33Z".
std::string written_on(const std::filesystem::path& file);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
