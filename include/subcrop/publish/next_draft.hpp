// From one draft to the next: the user's decisions on the proposals of a run, and the map with the accepted ones
// carried out.
//
//     decide("survey.json", {.ids = {"A1"}, .decision = "accepted", .why = "slate in the ditch"});
//     AdoptSummary next = adopt_survey("survey.json", {}, progress);
//     std::filesystem::path map = next.file;  // adopted_map.gpkg: the whole map, layers units and contacts
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct DecideOptions {
    std::vector<std::string> ids = {};  ///< of the last run's proposals; none: nothing is decided, only listed
    std::string decision = {};          ///< open, accepted, rejected or later
    std::string why = {};
    std::optional<std::filesystem::path> table = {};    ///< a decisions.csv, such as the page saves
    std::optional<std::filesystem::path> results = {};  ///< folder of the run, instead of the survey file's own
};

/// A proposal as it now stands.
struct DecidedProposal {
    std::string id, what, decision, why, decided_on, note;
    std::optional<double> probability = {}, hectares = {};
    std::size_t stops = 0;
};

struct DecideSummary {
    std::vector<DecidedProposal> proposals;  ///< those decided now, or all if none was
    std::size_t taken = 0;                   ///< decisions that were new
    std::filesystem::path file;              ///< decisions.gpkg
    std::vector<Problem> problems;
};

/// Throws Error for an id that the last run does not have, and if decisions.gpkg cannot be written.
DecideSummary decide(const std::filesystem::path& survey_file, const DecideOptions& options);

struct AdoptOptions {
    unsigned threads = 0;
    std::optional<double> at_least = {};                ///< carry out open proposals at least as probable too
    bool dry_run = false;                               ///< report only, write nothing
    std::optional<std::filesystem::path> results = {};  ///< folder of the run, instead of the survey file's own
    std::optional<std::filesystem::path> output =
        {};  ///< instead of adopted_map.gpkg (or _2, _3 ...) beside the survey file; no file is replaced
};

struct AdoptSummary {
    std::string title;
    std::filesystem::path file;  ///< written; empty: dry run, or nothing to carry out
    std::vector<DecidedProposal> carried_out;
    std::size_t left_open = 0, rejected = 0, later = 0;
    std::size_t polygons = 0, polygons_as_drawn = 0, contacts = 0;
    double changed_hectares = 0, hectares = 0;
    std::size_t faults = 0, faults_of_draft = 0;  ///< gaps, overlaps and slivers of the new map, and of the draft
    std::string map_entry;                        ///< the line of the survey file that makes it the draft
    bool first_map = false;                       ///< there was no draft: all of it is new
};

/// Reads and judges the survey as `run` does, and carries out what was accepted. All else stays as drawn. Edges are
/// shared to the last bit. Throws Error if the survey changed since the run whose proposals were decided, and if
/// `output` exists already.
AdoptSummary adopt_survey(const std::filesystem::path& survey_file, const AdoptOptions& options, Progress& progress);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
