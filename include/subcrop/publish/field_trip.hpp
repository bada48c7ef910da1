// The next stops to take along: files for a receiver and a phone, and a sheet to print.
//
//     FieldOptions day{.from = "500500 east, 5600500 north", .hours = 6, .pdf = false};
//     FieldSummary trip = write_field("survey.json", day, progress);
//     std::filesystem::path track = trip.folder / "walk.gpx";
//
// The computation is that of `run_survey`: the same next stops, contacts and 90 % zones.
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/progress.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct FieldOptions {
    unsigned threads = 0;                              ///< 0: all the machine has; changes no result
    std::optional<std::filesystem::path> folder = {};  ///< to write; absent: `field` in the survey's results folder
    std::string from =
        {};  ///< where the walk starts and ends: a stop's name or a place as people write it; empty: an open walk
    std::optional<double> hours = {};  ///< length of the day, walking and stops; absent: no limit
    double stop_minutes = 20;          ///< spent at each stop
    bool letter = false;               ///< the sheet for letter paper instead of A4
    bool pdf = true;                   ///< print the sheet too, where Chromium is installed
    bool all = false;                  ///< also conflicts, disputed areas, drafted contacts, and every contact to check
};

/// One stop of the walk.
struct FieldStop {
    std::string name;      ///< "01 Ha-Kb", at most 10 letters
    std::size_t rank = 0;  ///< by gain, as in the layer next_stops, from 1
    Point place;           ///< working projection
    Point degrees;         ///< longitude, latitude, WGS 84
    std::optional<double> height_m = {};
    double gain_ha = 0;    ///< area expected to be corrected
    std::string purpose;   ///< what to see there, one sentence
    std::string look_for;  ///< how the soils of the two units differ, in plain words; empty: no noted difference
    double leg_m = 0, leg_ascent_m = 0,
           leg_minutes = 0;          ///< of the way to it; 0 for the first of an open walk
    double leg_detour_m = 0;         ///< how much longer than a straight line the way is, round no-go areas
    Line leg_corners = {};           ///< where the way to it bends, in walking order, working projection
    Line leg_corners_degrees = {};   ///< the same, WGS 84
    bool leg_crosses_no_go = false;  ///< no way round was found: the leg is straight
};

struct FieldSummary {
    std::string title, crs_name;
    std::filesystem::path folder;
    std::vector<std::filesystem::path> files;
    std::vector<FieldStop> stops;  ///< in walking order
    /// Next stops that the walk leaves out, and why.
    struct LeftOut {
        std::size_t rank = 0;
        Point place;
        std::string reason;
    };
    std::vector<LeftOut> left_out;
    std::string nothing;                 ///< why there is no walk; empty: there is one
    std::string start_read;              ///< how `from` was read
    std::optional<Point> start;          ///< working projection
    std::optional<Point> start_degrees;  ///< longitude, latitude
    double walk_m = 0, ascent_m = 0, walk_minutes = 0,
           stop_minutes = 0;  ///< with the way back, if there is a start
    double last_leg_detour_m = 0;  ///< of the way back, as for a stop
    Line last_leg_corners, last_leg_corners_degrees;
    bool last_leg_crosses_no_go = false;
    bool with_terrain = false;                ///< ascents and slopes are known
    std::size_t contacts = 0;                 ///< contacts to check, written as tracks
    std::size_t contacts_not_written = 0;     ///< also in doubt, but above the maximum that is written
    std::size_t conflicts = 0, disputed = 0;  ///< written with `all`
    std::string why_no_pdf;                   ///< a sentence if a PDF was wanted and there is none
    bool older_pdf = false;                   ///< none was written, and an older one is in the folder
};

/// Contacts that are written without `all`.
inline constexpr std::size_t max_field_contacts = 50;
/// No stop of a walk lies on steeper land, unless on a track. Degrees.
inline constexpr double steepest_stop_deg = 35;

/// Throws Error if the run is impossible or `from` cannot be read. Older files then stay as they were.
FieldSummary write_field(const std::filesystem::path& survey_file, const FieldOptions& options, Progress& progress);

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
