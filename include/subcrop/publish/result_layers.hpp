// The layers of results.gpkg: their fields and their rows.
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"
#include "subcrop/geo/unit_map.hpp"
#include "subcrop/infer/disputed_area.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"
#include "subcrop/publish/run_changes.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

/// A small copy of a photograph, for the page.
struct StopPicture {
    std::size_t stop = 0;  ///< index into Survey::stops
    std::string name = {}, taken = {};
    std::optional<double> direction_deg = {};  ///< viewing direction, clockwise from north
    std::string address = {};                  ///< "data:image/jpeg;base64,..."
};

struct ListedProposal;

/// Everything a run found out. All but `problems` and `metadata` must stay alive while the layers are written.
struct Results {
    const model::Survey& survey;
    const model::Reduced& reduced;
    const geo::UnitMap& map;
    const infer::Fit& fit;
    const infer::Relocation& relocation;
    const infer::RevisedMap& revised;
    const std::vector<infer::TraverseCourse>& traverses;
    const std::vector<infer::TraverseCrossing>& crossings;  ///< of all traverses
    const std::vector<infer::UnitSummary>& units;           ///< one a unit
    const std::vector<infer::NextStop>& next_stops;         ///< the best first
    std::vector<Problem> problems;                          ///< in the order in which they are to stand
    std::string metadata;                                   ///< JSON about the run
    std::vector<infer::DisputedArea> disputed = {};
    std::vector<StopPicture> pictures = {};                  ///< in the order of the stops
    std::string trial = {};                                  ///< JSON of an earlier trial of the survey; empty: none
    const std::vector<ListedProposal>* proposals = nullptr;  ///< in the order in which they are to stand; null: none
    RunChanges changes = {};                                 ///< since an earlier run
    std::vector<MultiPolygon> zones = {};   ///< of the contacts, by `zones_of`; empty: computed when needed
    std::vector<std::string> reasons = {};  ///< of the verdicts, by `reasons_of`; empty: computed when needed
};

/// Maximum number of contacts for which the page draws zones.
inline constexpr std::size_t max_drawn_zones = 2'000;
/// The 90 % zones of the contacts, for layer and page together; none if the page draws none.
std::vector<MultiPolygon> zones_of(const infer::Relocation& relocation, const geo::UnitMap& map, unsigned threads);
/// The zone of one contact.
MultiPolygon zone_of(const Results& results, std::size_t contact);
/// The reason of every stop, for layer and page together. Without the page the layers make a few at a time.
std::vector<std::string> reasons_of(const Results& results, unsigned threads);

/// Layers in the order of the file.
enum ResultLayer : std::size_t {
    stop_fit,
    stop_evidence,
    contact_review,
    contact_stretches,
    relocated_contacts,
    contact_zones,
    disputed_area,
    revised_units,
    proposals,
    traverse_crossings,
    unit_summary,
    next_stops,
    changes,
    problems,
    layer_style_table,
};

/// Above this number of contacts `contact_zones` stays empty, because their union would take longer than the rest of
/// the run.
inline constexpr std::size_t max_zones = 20'000;

/// Names, fields and domains of the result layers; the domain `unit` lists the survey's units.
io::FileDefinition result_definition(const model::Survey& survey);

/// Which rows `stop_evidence` gets for this number of stops: the setting; `automatic` is `top` up to 100,000 stops.
model::EvidenceRows evidence_rows(model::EvidenceRows setting, std::size_t stops);

/// Writes the file, whole or not at all. The bytes do not depend on `threads`.
void write_results(const std::filesystem::path& target, const Results& results, unsigned threads, Progress& progress);
/// Writes the file, which is put in place with the others. Returns where it stands until then.
std::filesystem::path write_results(const std::filesystem::path& target, const Results& results, unsigned threads,
                                    Progress& progress, io::PendingFiles& together);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
