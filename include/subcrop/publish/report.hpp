// The report page: one HTML file that shows what results.gpkg holds, with map, profiles and reasons. It contains all it
// needs and uses no network.
//
//     write_report("results/report.html", results, threads);  // whole or not at all
//
// Cost: 0.2 s and 7 MB for an invented survey of 5,000 stops. Geometry is drawn on a grid of extent / 30,000, coarser
// where a map has very many vertices: results.gpkg has the exact geometry.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/publish/result_layers.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

/// Above this number of stops the page is written only on request, because browsers need long to draw it.
inline constexpr std::size_t max_report_stops = 20'000;

/// What the page shows, as JSON. Text is as noted; none of it is markup.
std::string report_data(const Results& results, unsigned threads);

/// JSON that is safe in a `<script>` element: no character ends the element, or starts a comment or a new line of
/// script. Parsed, it is the same JSON.
std::string safe_in_script(const std::string& json);

/// Writes the page, whole or not at all. The bytes depend on the results alone. Throws Error where it cannot be
/// written.
void write_report(const std::filesystem::path& target, const Results& results, unsigned threads);
/// Writes the page, which is put in place with the others.
void write_report(const std::filesystem::path& target, const Results& results, unsigned threads,
                  io::PendingFiles& together);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
