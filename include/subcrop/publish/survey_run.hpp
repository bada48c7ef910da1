// A survey from file to result: the one library call behind `subcrop run` and `subcrop check`.
//
//     RunSummary run = run_survey("survey.json", {.threads = 2}, progress);  // writes results.gpkg and report.html
//     std::size_t conflicts = run.verdicts[static_cast<std::size_t>(infer::Verdict::conflicts)];
//     std::filesystem::path layers = run.result_file;
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/moved_stretch.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/io/new_survey.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/survey.hpp"
#include "subcrop/publish/run_changes.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

/// Formats of the layers in addition to results.gpkg.
enum class OutputFormat : std::uint8_t { csv, geojson, flatgeobuf, shapefile, kml, gpx };

/// A PostGIS database to write the layers to, as tables of subcrop's own schema.
struct DatabaseTarget {
    std::string connection = {};     ///< "PG:host=localhost dbname=survey"
    std::string schema = "subcrop";  ///< made if missing
};

/// Texts of a column that are too long for a format. They are cut there; results.gpkg has them whole.
struct CutTexts {
    std::string format = {}, layer = {}, column = {};
    std::size_t rows = 0;
};

struct RunOptions {
    unsigned threads = 0;                               ///< 0: all the machine has; changes no result
    std::optional<std::filesystem::path> results = {};  ///< folder instead of the survey file's own
    std::optional<bool> report = {};                    ///< write report.html; absent: up to max_report_stops
    std::vector<OutputFormat> formats = {};             ///< each layer also as a file of its own
    std::optional<double> grid_m = {};                  ///< write confidence.tif with cells of so many metres
    std::optional<DatabaseTarget> database = {};        ///< and as a table there
    infer::DescribedBy described_by = infer::DescribedBy::posterior;  ///< which stops descriptions of units use
    /// The record in the history that this run's record replaces. So runs within a few minutes leave one record.
    std::filesystem::path superseded_record = {};
    bool keep_problems = false;  ///< RunSummary::problems
};

struct RunRecord;

/// One conflict or contact worth naming on the screen.
struct Highlight {
    std::string name;    ///< stop id, or "GAB | TUF"
    std::string reason;  ///< one sentence
};

struct RunSummary {
    std::string title;
    std::filesystem::path result_file;                 ///< results.gpkg
    std::filesystem::path report_file;                 ///< report.html; empty: not written
    std::filesystem::path grid_file;                   ///< confidence.tif; empty: not asked for
    std::vector<std::filesystem::path> other_formats;  ///< folders of the layers in other formats
    std::vector<CutTexts> cut_texts;                   ///< in these
    std::string database;                              ///< written to, without its password; empty: none
    bool too_many_for_report = false;                  ///< not written because of the number of stops alone
    bool older_report = false;                         ///< not written, and an older one is in the folder
    bool without_draft = false;                        ///< a first map was drawn
    std::size_t stops_rock_seen = 0;                   ///< stops with observed bedrock
    std::string first_map_range;   ///< a sentence if observed bedrock does not show how far a unit reaches; else empty
    std::string headline;          ///< length of misplaced contacts, and by how much; empty without a draft
    std::string because;           ///< one or two more sentences on it
    infer::MovedLength elsewhere;  ///< the same in figures
    std::vector<Highlight> stretches;  ///< misplaced, the five largest
    std::vector<std::string> units;    ///< "Kb Korrin Basalt", in the order of the legend; those with an area
    std::size_t stops = 0;
    std::vector<std::size_t> verdicts;  ///< count of each infer::Verdict
    RunChanges changes;                 ///< since the last run of other inputs
    std::filesystem::path record_file;  ///< written to the history; empty: one of the same inputs is the newest there
    std::shared_ptr<const RunRecord> record;  ///< for `changes_between`
    std::vector<Highlight> conflicts;         ///< the five strongest
    std::vector<Highlight> contacts;          ///< the five most in doubt by the stops beside them
    std::size_t contacts_without_stops = 0;   ///< that should move, inferred from neighbouring contacts
    std::vector<Highlight> proposals;         ///< the five open ones with the largest gain, by id
    struct Decided {
        std::size_t open = 0, accepted = 0, rejected = 0, later = 0, shown_again = 0;
    } decided;                          ///< how many proposals stand so; `shown_again` are among the open ones
    std::vector<Highlight> disputed;    ///< the five clearest disputed areas
    std::vector<Highlight> next_stops;  ///< the five that gain most, by rank
    std::size_t next_stop_count = 0;    ///< all suggested
    std::string next_stops_worth;       ///< gain of all of them together, in a sentence; empty without a draft or stops
    /// The smooth displacement of the draft that was adopted; amplitude 0: contacts stay where they are drawn.
    struct Displacement {
        double amplitude_m = 0, reach_m = 0, gain = 0, gain_error = 0;
    } shift;
    std::string shift_decided_by;  ///< "soil" or "soil and observed bedrock"; empty if it was not asked
    infer::HeldOutSkill skill;
    bool calibrated = false;
    std::vector<model::CoordinateOperation> operations;
    std::size_t problem_errors = 0;
    std::size_t problem_warnings = 0;
    std::size_t problem_notes = 0;
    std::vector<Problem> first_problems;  ///< the worst ten
    std::vector<Problem> problems;        ///< all, where RunOptions::keep_problems asks for them
};

struct CheckSummary {
    std::string title;
    std::vector<io::EmptySource>
        to_fill_in;  ///< not empty: stops or map have no rows yet, and nothing else was looked at
    std::size_t stops = 0;
    std::size_t horizons = 0;
    std::size_t polygons = 0;
    std::vector<model::CoordinateOperation> operations;
    std::vector<Problem> problems;  ///< sorted, worst first
};

/// Version of the library, "0.1.0".
std::string_view version();

/// Reads, judges and writes results.gpkg, then report.html beside it. Throws Error if the run is impossible. An older
/// results.gpkg then stays as it was.
RunSummary run_survey(const std::filesystem::path& survey_file, const RunOptions& options, Progress& progress);
/// The same for a survey file that was read before.
RunSummary run_survey(const io::SurveyFile& file, const RunOptions& options, Progress& progress);
/// What changed from one run of a survey to a later one.
RunChanges changes_between(const RunSummary& before, const RunSummary& now);
/// The same reading, without judging or writing.
CheckSummary check_survey(const std::filesystem::path& survey_file, const RunOptions& options, Progress& progress);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
