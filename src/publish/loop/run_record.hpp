// The record of a run, for later runs to compare with: results/history/<date>.json.
//
//     History history = read_history(results / "history", digest, problems);
//     RunRecord record = record_of(...);
//     if (!history.recorded) write_record(results / "history", record, {}, together);
#pragma once

#include <cstddef>
#include <ctime>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::io {
class PendingFiles;
}

namespace subcrop::publish {

/// Above this number of stops, or contacts, a record has only their counts.
inline constexpr std::size_t max_recorded = 20'000;
/// Older records are removed when a new one is written.
inline constexpr std::size_t max_records = 30;

struct StopRecord {
    std::string id;
    std::string verdict;             ///< code, such as "conflicts"
    std::optional<double> p_mapped;  ///< absent off the map
    Point place;
};

struct ContactRecord {
    std::int64_t number = 0;  ///< feature id in contact_review
    std::string unit_a, unit_b;
    Point middle;  ///< of the line as drawn
    double length_m = 0;
    double half_width_m = 0;  ///< 90 %
    std::string review;       ///< code, such as "supported"
};

struct RunRecord {
    std::time_t date = 0;
    std::string inputs;   ///< io::digest_of_inputs
    std::string version;  ///< of the program
    std::string crs;      ///< name of the working projection
    bool without_draft = false;
    std::size_t stop_count = 0, contact_count = 0;
    std::vector<std::pair<std::string, std::size_t>> verdicts;            ///< code and number of stops
    std::vector<StopRecord> stops;                                        ///< empty above `max_recorded`
    std::vector<ContactRecord> contacts;                                  ///< the same
    nlohmann::ordered_json proposals = nlohmann::ordered_json::object();  ///< stored unchanged
};

/// Rounded as it will be read again, so that a run equals its own record.
RunRecord record_of(const model::Survey& survey, const geo::UnitMap& map, const infer::Fit& fit,
                    const infer::Relocation& relocation, std::string inputs, std::time_t date);

std::string to_json(const RunRecord& record);
/// Throws Error, naming `file`, if it is no record.
RunRecord read_record(const std::filesystem::path& file);

struct History {
    std::optional<RunRecord> own;     ///< the newest record, if it has the same inputs
    std::optional<RunRecord> before;  ///< the newest with other inputs, to compare with
};
/// A record that cannot be read becomes a Problem and is ignored. `superseded`: a record to leave out.
History read_history(const std::filesystem::path& folder, const std::string& inputs,
                     const std::filesystem::path& superseded, ProblemLog& problems);

/// Where a record of that date goes: "history/2026-12-01T052033Z.json". Records are ordered by name. If this would not
/// be the newest name, the newest name with "-2" (or the next number) is used.
std::filesystem::path new_record_path(const std::filesystem::path& folder, std::time_t date);

/// Writes it with the other files, and removes what a killed run left in the folder.
std::filesystem::path write_record(const std::filesystem::path& folder, const RunRecord& record,
                                   io::PendingFiles& together);
/// Removes all but the newest `max_records`, and `superseded`. Call it after the new one is in place.
void remove_old_records(const std::filesystem::path& folder, const std::filesystem::path& superseded);

}  // namespace subcrop::publish
