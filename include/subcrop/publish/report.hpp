// The report page: one HTML file that shows what results.gpkg holds, with map, profiles and reasons. It holds all it
// needs and asks nothing of any network.
//
//     write_report("results/report.html", results, threads);  // whole or not at all
//
// Cost: 0.2 s and 7 MB for an invented survey of 5,000 stops. Geometry is drawn on a grid of extent / 30,000, coarser
// where a map has very many vertices: what is measured stands in results.gpkg.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/publish/result_layers.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

/// Above so many stops the page is written only where it is asked for: browsers take long to draw it.
inline constexpr std::size_t max_report_stops = 20'000;

/// What the page shows, as JSON. Text stands as it was noted; nothing of it is markup.
std::string report_data(const Results& results, unsigned threads);

/// JSON as it may stand in a `<script>` element: no character of it ends the element, starts a comment or a new line of
/// script. The same JSON to whoever parses it.
std::string safe_in_script(const std::string& json);

/// Writes the page, whole or not at all. The bytes depend on the results alone. Throws Error where it cannot be
/// written.
void write_report(const std::filesystem::path& target, const Results& results, unsigned threads);
/// Writes the page, which is put in place with the others.
void write_report(const std::filesystem::path& target, const Results& results, unsigned threads,
                  io::PendingFiles& together);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
