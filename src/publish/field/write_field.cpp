#include <ostream>
#include <string_view>
#include <system_error>

#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "publish/field/field_files.hpp"
#include "publish/field/field_sheet.hpp"
#include "publish/field/field_trip.hpp"
#include "publish/print_pdf.hpp"
#include "publish/results_folder.hpp"
#include "subcrop/core/problem.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;

const char* const names[] = {"walk.gpx", "walk.kml", "walk.geojson", "sheet.html", "sheet.pdf"};

Box box_of(const FieldTrip& trip) {
    Box box;
    const auto add = [&](const Line& line) {
        for (const Point p : line) box.add(p);
    };
    if (trip.summary.start) box.add(*trip.summary.start);
    for (const FieldStop& stop : trip.summary.stops) {
        box.add(stop.place);
        add(stop.leg_corners);
    }
    add(trip.summary.last_leg_corners);
    for (const FieldContact& c : trip.contacts) {
        add(c.line);
        for (const Polygon& part : c.zone) add(part.shell);
    }
    for (const FieldMark& mark : trip.conflicts) box.add(mark.place);
    for (const FieldMark& mark : trip.disputed) box.add(mark.place);
    return box;
}

}  // namespace

FieldSummary write_field(const fs::path& survey_file, const FieldOptions& options, Progress& progress) {
    const io::SurveyFile file = io::read_survey_file(survey_file);
    const fs::path folder =
        options.folder ? options.folder->lexically_normal() : results_folder(file, std::nullopt) / "field";
    std::vector<fs::path> written;
    for (const char* name : names) {
        const auto more = io::files_written_for(folder / name);
        written.insert(written.end(), more.begin(), more.end());
    }
    io::refuse_to_replace(io::files_of(file), written);

    ProblemLog problems;
    const JudgedSurvey judged =
        judge_survey(file, {.threads = options.threads, .choose_next_stops = true}, problems, progress);
    progress.stage("planning the walk", 0);
    const std::optional<geo::Terrain> terrain = terrain_of_trip(file, judged, options.threads);
    FieldTrip trip = plan_trip(judged, terrain ? &*terrain : nullptr, options);
    progress.stage("writing the field files", 0);
    io::PendingFiles together;
    Box box = box_of(trip);
    if (box.empty()) box.add(judged.data->survey.stops.front().position);
    const ToDegrees degrees(judged.data->survey, box);
    write_gpx(folder / "walk.gpx", trip, degrees, together);
    write_kml(folder / "walk.kml", trip, degrees, together);
    write_geojson(folder / "walk.geojson", trip, degrees, together);
    const std::string sheet = field_sheet(judged, trip, options.letter ? Paper::letter : Paper::a4);
    together.write(folder / "sheet.html", [&](std::ostream& out) { out << sheet; });
    FieldSummary& summary = trip.summary;
    bool printed = false;
    if (options.pdf) {
        progress.stage("printing the sheet", 0);
        PrintedPage page = print_to_pdf(sheet, "the page");
        printed = page.bytes.has_value();
        if (printed) together.write(folder / "sheet.pdf", [&](std::ostream& out) { out << *page.bytes; });
        summary.why_no_pdf = std::move(page.why_not);
    }
    together.put_in_place();
    summary.folder = folder;
    for (const char* name : names)
        if (printed || std::string_view(name) != "sheet.pdf") summary.files.push_back(folder / name);
    std::error_code none;
    summary.older_pdf = !printed && fs::exists(folder / "sheet.pdf", none);
    return std::move(summary);
}

}  // namespace subcrop::publish
