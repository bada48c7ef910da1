#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/command.hpp"
#include "cli/progress_bar.hpp"
#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/field/written_place.hpp"
#include "subcrop/publish/field_trip.hpp"

namespace subcrop::cli {

namespace {

using publish::FieldStop;
using publish::FieldSummary;
using Json = nlohmann::ordered_json;

struct FieldCommandOptions : CommonOptions {
    std::optional<std::string> folder;
    std::string paper = "a4";
    bool no_pdf = false;
    publish::FieldOptions field;
};

std::string metres(double value) { return std::to_string(std::lround(value)) + " m"; }

std::string kilometres(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f km", value / 1000);
    return value < 950 ? metres(value) : text;
}

/// "45 min", "2 h 05".
std::string duration(double minutes) {
    const long whole = std::lround(minutes);
    if (whole < 60) return std::to_string(whole) + " min";
    return std::to_string(whole / 60) + " h " + (whole % 60 < 10 ? "0" : "") + std::to_string(whole % 60);
}

std::string hectares(double value) {
    char text[32];
    std::snprintf(text, sizeof text, value < 0.1 ? "%.3f ha" : value < 10 ? "%.1f ha" : "%.0f ha", value);
    return text;
}

std::string place_text(Point place) {
    return std::to_string(std::lround(place.x)) + " east, " + std::to_string(std::lround(place.y)) + " north";
}

void print_walk(std::ostream& out, const FieldSummary& s, std::size_t width) {
    if (!s.start_read.empty()) out << wrapped("Start and end: " + s.start_read + '.', 0, width) << "\n\n";
    if (!s.nothing.empty()) {
        out << wrapped(s.nothing, 0, width) << '\n';
    } else {
        std::vector<std::pair<std::string, std::string>> rows;
        for (const FieldStop& stop : s.stops) {
            std::string text = place_text(stop.place) + " (" + field::degrees_text(stop.degrees.y, stop.degrees.x) +
                               "). " + stop.purpose;
            if (!stop.look_for.empty()) text += " Look for: " + stop.look_for + '.';
            if (stop.leg_detour_m > 0)
                text += " The way there goes round a no-go area: " + kilometres(stop.leg_detour_m) + " more.";
            if (stop.leg_crosses_no_go) text += " The straight way there crosses a no-go area: go round it.";
            rows.emplace_back(stop.name, std::move(text));
        }
        print_pairs(out, rows, width);
        const bool goes_round =
            s.last_leg_detour_m > 0 ||
            std::any_of(s.stops.begin(), s.stops.end(), [](const FieldStop& stop) { return stop.leg_detour_m > 0; });
        std::string total =
            (s.start ? "The round is " : "The walk is ") + kilometres(s.walk_m) +
            (s.with_terrain ? " with " + metres(s.ascent_m) + " of ascent" : " (no terrain: ascents are not counted)") +
            ": " + duration(s.walk_minutes) + " on foot by Naismith's rule and " + duration(s.stop_minutes) +
            " at the stops. Distances are straight lines" + (goes_round ? ", round no-go areas" : "") +
            "; real ways are longer.";
        if (s.last_leg_detour_m > 0)
            total += " The way back goes round a no-go area: " + kilometres(s.last_leg_detour_m) + " more.";
        if (s.last_leg_crosses_no_go) total += " The straight way back crosses a no-go area: go round it.";
        out << "\n  " << wrapped(total, 2, width) << '\n';
    }
    if (!s.left_out.empty()) {
        out << "\nNext stops that the walk leaves out\n";
        std::vector<std::pair<std::string, std::string>> rows;
        for (const FieldSummary::LeftOut& left : s.left_out)
            rows.emplace_back("rank " + std::to_string(left.rank), place_text(left.place) + ": " + left.reason + '.');
        print_pairs(out, rows, width);
    }
}

void print_field(std::ostream& out, const FieldSummary& s, std::size_t width) {
    double gain = 0;
    for (const FieldStop& stop : s.stops) gain += stop.gain_ha;
    out << (s.title.empty() ? "" : visible(s.title) + ": ") << "a walk past "
        << counted(s.stops.size(), "stop", "stops");
    if (!s.stops.empty()) out << ", expected to correct " << hectares(gain);
    out << "\n\n";
    print_walk(out, s, width);
    out << '\n' << "Contacts to check: " << s.contacts << ", each with its 90 % zone";
    if (s.contacts_not_written > 0) out << "; " << s.contacts_not_written << " more with --all";
    out << '\n';
    if (s.conflicts + s.disputed > 0)
        out << "Besides: " << counted(s.conflicts, "conflict", "conflicts") << ", "
            << counted(s.disputed, "disputed area", "disputed areas") << '\n';
    out << "Files:\n";
    for (const auto& file : s.files) out << "  " << visible(file.string()) << '\n';
    if (!s.why_no_pdf.empty()) out << wrapped("No sheet.pdf: " + s.why_no_pdf, 0, width) << '\n';
    if (s.older_pdf) out << "The sheet.pdf there is of an earlier run.\n";
    out << wrapped(
               "Caution: before digging, find out what is buried there, and ask who owns the land. On remote land do "
               "not go alone, and leave word.",
               0, width)
        << '\n';
}

Json point_json(Point p) { return {{"east", p.x}, {"north", p.y}}; }

std::string field_json(const FieldSummary& s) {
    Json json{{"title", s.title}, {"crs", s.crs_name}};
    json["stops"] = Json::array();
    for (const FieldStop& stop : s.stops) {
        json["stops"].push_back({{"name", stop.name},
                                 {"rank", stop.rank},
                                 {"east", stop.place.x},
                                 {"north", stop.place.y},
                                 {"longitude", stop.degrees.x},
                                 {"latitude", stop.degrees.y},
                                 {"height_m", stop.height_m ? Json(*stop.height_m) : Json(nullptr)},
                                 {"gain_ha", stop.gain_ha},
                                 {"purpose", stop.purpose},
                                 {"look_for", stop.look_for},
                                 {"leg_m", stop.leg_m},
                                 {"leg_ascent_m", stop.leg_ascent_m},
                                 {"leg_minutes", stop.leg_minutes},
                                 {"leg_detour_m", stop.leg_detour_m},
                                 {"leg_crosses_no_go", stop.leg_crosses_no_go}});
    }
    json["left_out"] = Json::array();
    for (const auto& left : s.left_out) {
        Json row = point_json(left.place);
        row["rank"] = left.rank;
        row["reason"] = left.reason;
        json["left_out"].push_back(std::move(row));
    }
    json["nothing"] = s.nothing;
    json["start"] = s.start ? point_json(*s.start) : Json(nullptr);
    json["start_read"] = s.start_read;
    json["walk_m"] = s.walk_m;
    json["ascent_m"] = s.ascent_m;
    json["walk_minutes"] = s.walk_minutes;
    json["stop_minutes"] = s.stop_minutes;
    json["with_terrain"] = s.with_terrain;
    json["contacts"] = s.contacts;
    json["contacts_not_written"] = s.contacts_not_written;
    json["conflicts"] = s.conflicts;
    json["disputed"] = s.disputed;
    json["why_no_pdf"] = s.why_no_pdf;
    json["older_pdf"] = s.older_pdf;
    json["files"] = Json::array();
    for (const auto& file : s.files) json["files"].push_back(file.string());
    return visible_in_json(json.dump(2, ' ', false, Json::error_handler_t::replace));
}

int field_trip(const FieldCommandOptions& options) {
    publish::FieldOptions field = options.field;
    field.threads = options.threads;
    field.letter = CLI::detail::to_lower(options.paper) == "letter";
    field.pdf = !options.no_pdf;
    if (options.folder) field.folder = *options.folder;
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const FieldSummary summary = publish::write_field(options.survey, field, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json)
        std::cout << field_json(summary) << '\n';
    else if (!options.quiet)
        print_field(std::cout, summary, screen_width());
    return done;
}

const char* const field_json_keys =
    "Keys of --json: title, crs; stops, in walking order: name (as in the files), rank (by gain), east, north, "
    "longitude, latitude,\n"
    "height_m, gain_ha, purpose, look_for, leg_m, leg_ascent_m, leg_minutes, leg_detour_m, leg_crosses_no_go (no way "
    "round).\n"
    "left_out: rank, east, north, reason. nothing (why there is no walk), start, start_read, walk_m, ascent_m, "
    "walk_minutes.\n"
    "Also: stop_minutes (all stops), with_terrain, contacts, contacts_not_written, conflicts, disputed, why_no_pdf, "
    "older_pdf, files.";

}  // namespace

Command add_field(CLI::App& parent) {
    auto options = std::make_shared<FieldCommandOptions>();
    CLI::App* app =
        parent.add_subcommand("field", "Plan a walk past the next stops: GPX, KML, GeoJSON and a sheet to print");
    add_common_options(*app, *options);
    app->add_option("-o,--output", options->folder,
                    "Folder to write, instead of 'field' in the survey's results folder")
        ->type_name("FOLDER")
        ->check(named);
    app->add_option("--from", options->field.from,
                    "Where the walk starts and ends: a stop of the survey, or a place such as '56.2306 N 3.6548 E', "
                    "'31V 540595 6231941' or '540595 east, 6231941 north'. Without it the walk is not a round")
        ->type_name("PLACE")
        ->check(named);
    app->add_option("--hours", options->field.hours,
                    "Length of the day, walking and stopping. Stops that gain least for their time are left out")
        ->type_name("H")
        ->check(CLI::Range(0.1, 24.0).description(""));
    app->add_option("--stop-minutes", options->field.stop_minutes, "Minutes spent at each stop (default 20)")
        ->type_name("M")
        ->check(CLI::Range(0.0, 600.0).description(""));
    app->add_option("--paper", options->paper, "Paper of the sheet: a4 (default) or letter")
        ->type_name("PAPER")
        ->check(one_of("a4 letter", true));
    app->add_flag("--no-pdf", options->no_pdf, "Do not print sheet.pdf (printing needs Chromium)");
    app->add_flag("--all", options->field.all,
                  "Also write conflicts, disputed areas, contacts as drawn, and every contact to check");
    app->footer(
        std::string(
            "Example: subcrop field sampledata/survey.json --from '540500 east, 6231000 north' --hours 6\n\n"
            "The next stops are those of 'subcrop run'. With a terrain no stop lies on slopes above 35 degrees, "
            "unless on a track.\n"
            "walk.gpx, walk.kml and walk.geojson are in WGS 84 longitude and latitude; sheet.html and "
            "sheet.pdf print at 100 %.\n"
            "Exit codes: 0 done, 1 failed, 2 wrong usage.\n\n") +
        field_json_keys);
    return {app, [options] { return field_trip(*options); }};
}

}  // namespace subcrop::cli
