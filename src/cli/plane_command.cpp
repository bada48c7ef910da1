#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <iterator>
#include <memory>
#include <numbers>
#include <optional>
#include <string_view>
#include <utility>

#include "cli/calculator.hpp"
#include "cli/visible.hpp"
#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/geo/plane.hpp"
#include "subcrop/io/plane_trace.hpp"
#include "subcrop/io/terrain_reader.hpp"

namespace subcrop::cli {

namespace {

struct PlaneOptions {
    std::vector<geo::PlanePoint> points;
    std::string strike, dip;  // as written
    std::optional<double> strike_deg, dip_deg;
    double strike_sd_deg = 0, dip_sd_deg = 0;
    double horizontal_sd_m = 0, height_sd_m = 0;
    std::vector<Point> places;  // at which the height of the plane is asked
    std::vector<double> sections_deg;
    std::string terrain, trace, crs, vertical_unit;
    double terrain_sd_m = 0, reach_m = 0;
    bool json = false;
};

const std::string fit_source =
    "total least squares, errors to first order: common practice, worked against Bennison 1990 by two ways";
const std::string trace_source = "contour of the distance of the land surface from the plane, by GDAL";

/// Numbers of "393,2374,550"; nothing where a part is no number.
std::optional<std::vector<double>> numbers(const std::string& text) {
    std::vector<double> found;
    const char* at = text.data();
    const char* const end = at + text.size();
    while (true) {
        double number = 0;
        while (at != end && *at == ' ') ++at;
        const auto [stop, error] = std::from_chars(at, end, number);
        if (error != std::errc() || !std::isfinite(number)) return std::nullopt;
        found.push_back(number);
        at = stop;
        while (at != end && *at == ' ') ++at;
        if (at == end) return found;
        if (*at++ != ',') return std::nullopt;
    }
}

geo::PlanePoint point_of(const std::string& text) {
    const auto parts = numbers(text);
    if (!parts || parts->size() < 3 || parts->size() > 5 ||
        std::any_of(parts->begin() + 3, parts->end(), [](double sd) { return sd < 0; })) {
        throw CLI::ValidationError("POINT",
                                   "'" + text +
                                       "' is no point; write east,north,height in metres, such as 393,2374,550, and, "
                                       "if you wish, its errors: 393,2374,550,10,5.");
    }
    geo::PlanePoint point{(*parts)[0], (*parts)[1], (*parts)[2]};
    if (parts->size() > 3) point.horizontal_sd_m = (*parts)[3];
    if (parts->size() > 4) point.height_sd_m = (*parts)[4];
    return point;
}

std::string with_error(double value, std::optional<double> sd, const char* unit) {
    const int decimals = !sd ? 2 : *sd >= 1 ? 1 : 2;
    return fixed(value, decimals) + ' ' + unit +
           (sd ? " (standard error " + fixed(*sd, decimals) + ")" : std::string());
}

/// A bearing as three figures: 007.
std::string bearing(double degrees) {
    const std::string text = fixed(std::fmod(std::round(degrees) + 360.0, 360.0), 0);  // no minus before a zero
    return std::string(3 - std::min<std::size_t>(3, text.size()), '0') + text;
}

struct Answer {
    geo::Plane plane;
    std::optional<geo::PlaneFit> fit;
    std::vector<std::string> remarks;
    std::optional<io::PlaneTrace> trace;
    std::string trace_crs;
};

void add_remarks(Answer& answer) {
    const auto sd = geo::normal_sd_deg(answer.plane);
    if (sd && *sd > 20) {
        answer.remarks.push_back(
            "The points lie so nearly on one line, or so close together for their errors, that the plane is "
            "hardly known: its normal errs by " +
            fixed(*sd, 0) + " degrees.");
    } else if (const auto strike_sd = geo::strike_sd_deg(answer.plane); strike_sd && *strike_sd > 30) {
        answer.remarks.push_back(
            "The bed is almost level, so its strike is very uncertain. Standard error of the normal: " + fixed(*sd, 2) +
            " degrees.");
    }
    if (answer.fit && answer.fit->p_value && *answer.fit->p_value < 0.01) {
        answer.remarks.push_back(
            "The points lie farther from one plane than their errors say: the bed is bent or broken, or the errors "
            "are stated too small.");
    }
}

void print_human(std::ostream& out, const Answer& answer, const PlaneOptions& options) {
    const std::size_t width = screen_width();
    const geo::Plane& plane = answer.plane;
    const auto strike = geo::strike_deg(plane);
    const double dip = geo::dip_deg(plane);
    if (strike) {
        const std::string flat = fixed(std::round(dip), 0);
        out << bearing(*strike) << '/' << (flat.size() < 2 ? "0" : "") << flat
            << ", strike by the right-hand rule and dip\n";
    } else {
        out << "Level: no strike, dip 0\n";
    }
    Rows rows;
    if (strike) {
        rows.emplace_back("strike", with_error(*strike, geo::strike_sd_deg(plane), "degrees"));
        rows.emplace_back(
            "dip", with_error(dip, geo::dip_sd_deg(plane), "degrees") +
                       (dip > 90 - 1e-6 ? std::string(", vertical") : ", to " + bearing(*geo::dip_azimuth_deg(plane))));
    } else if (const auto sd = geo::dip_sd_deg(plane)) {
        rows.emplace_back("dip", with_error(dip, sd, "degrees"));
    }
    if (answer.fit) {
        const geo::PlaneFit& fit = *answer.fit;
        std::string text = counted(fit.points, "point", "points");
        text += fit.points == 3 ? ", met exactly" : ", rms distance from the plane " + fixed(fit.rms_m, 2) + " m";
        if (fit.p_value) {
            text += "; chi-square " + fixed(*fit.chi_square, 1) + " with " + std::to_string(fit.points - 3) +
                    (fit.points == 4 ? " degree" : " degrees") + " of freedom, met by chance in " +
                    fixed(100 * *fit.p_value, 0) + " %";
        } else if (fit.points > 3) {
            text += "; errors from that scatter";
        }
        rows.emplace_back("fit", text);
    }
    for (const Point& place : options.places) {
        const auto height = geo::height_m(plane, place);
        rows.emplace_back("at " + fixed(place.x, 0) + ',' + fixed(place.y, 0),
                          height ? "height " + with_error(*height, geo::height_sd_m(plane, place), "m")
                                 : "the plane is vertical: it has no height");
    }
    for (const double section : options.sections_deg) {
        rows.emplace_back("section " + bearing(section),
                          "apparent dip " + fixed(geo::apparent_dip_deg(plane, section), 2) + " degrees");
    }
    if (answer.trace) {
        rows.emplace_back("trace", answer.trace->lines.empty()
                                       ? "the plane does not cut the land surface within the terrain"
                                       : counted(answer.trace->lines.size(), "line", "lines") + ", " +
                                             fixed(answer.trace->length_m, 0) + " m in all, in " + answer.trace_crs);
        if (!answer.trace->band.empty()) {
            rows.emplace_back(
                "band", "the 90 % zone of the trace covers " + fixed(answer.trace->band_area_m2 / 1e6, 3) + " km2");
        }
    }
    print_pairs(out, rows, width);
    for (const std::string& remark : answer.remarks) out << wrapped(remark, 0, width) << '\n';
    if (answer.trace) out << "\nTrace: " << visible(options.trace) << '\n';
    std::vector<std::string> sources{fit_source};
    if (answer.trace) sources.push_back(trace_source);
    print_sources(out, sources, width);
}

Json number_or_null(const std::optional<double>& value) { return value ? Json(*value) : Json(nullptr); }

void print_machine(std::ostream& out, const Answer& answer, const PlaneOptions& options) {
    const geo::Plane& plane = answer.plane;
    Json json;
    json["strike_deg"] = number_or_null(geo::strike_deg(plane));
    json["dip_deg"] = geo::dip_deg(plane);
    json["dip_azimuth_deg"] = number_or_null(geo::dip_azimuth_deg(plane));
    json["strike_sd_deg"] = number_or_null(geo::strike_sd_deg(plane));
    json["dip_sd_deg"] = number_or_null(geo::dip_sd_deg(plane));
    std::array<double, 3> normal = plane.normal;
    for (double& part : normal) part += 0.0;  // -0 becomes 0
    json["normal"] = normal;
    json["through"] = plane.through;
    if (answer.fit) {
        json["points"] = answer.fit->points;
        json["rms_m"] = answer.fit->rms_m;
        json["chi_square"] = number_or_null(answer.fit->chi_square);
        json["p_value"] = number_or_null(answer.fit->p_value);
    }
    for (const Point& place : options.places) {
        json["heights"].push_back({{"x", place.x},
                                   {"y", place.y},
                                   {"height_m", number_or_null(geo::height_m(plane, place))},
                                   {"height_sd_m", number_or_null(geo::height_sd_m(plane, place))}});
    }
    for (const double section : options.sections_deg) {
        json["sections"].push_back(
            {{"direction_deg", section}, {"apparent_dip_deg", geo::apparent_dip_deg(plane, section)}});
    }
    if (answer.trace) {
        json["trace"] = {
            {"file", options.trace},
            {"lines", answer.trace->lines.size()},
            {"length_m", answer.trace->length_m},
            {"band_area_m2", answer.trace->band.empty() ? Json(nullptr) : Json(answer.trace->band_area_m2)}};
    }
    json["remarks"] = answer.remarks;
    json["sources"] =
        answer.trace ? std::vector<std::string>{fit_source, trace_source} : std::vector<std::string>{fit_source};
    print_json(out, json);
}

void draw_trace(Answer& answer, const PlaneOptions& options) {
    if (std::error_code none; std::filesystem::equivalent(options.terrain, options.trace, none)) {
        throw Error({.source = options.trace}, "the trace would replace the terrain", "Give it another name.");
    }
    if (std::error_code none; std::filesystem::exists(options.trace, none)) {
        throw Error({.source = options.trace}, "the file is there already, and nothing is replaced",
                    "Give another name, or move it away first.");
    }
    io::SurveyFile here;  // paths are relative to the current folder
    here.path = "command-line";
    io::TerrainDescription description;
    description.source = options.terrain;
    description.vertical_unit = options.vertical_unit;
    try {
        io::refuse_to_replace(io::files_of("terrain", options.terrain, options.terrain),
                              io::files_written_for(options.trace));
    } catch (const Error& problem) {
        throw Error(problem.place(), "the trace would replace the terrain", "Give it another name.");
    }
    ProblemLog problems;
    std::string crs_wkt;
    if (!options.crs.empty()) crs_wkt = geo::Crs(options.crs).wkt();
    const io::TerrainRead read = io::read_terrain(here, description, crs_wkt, std::nullopt, 0, problems);
    for (const Problem& problem : problems.sorted()) answer.remarks.push_back(sentence(problem));
    if (!read.terrain)
        throw Error({.source = options.terrain}, "no trace can be drawn",
                    answer.remarks.empty() ? "" : answer.remarks.back());
    answer.trace_crs = geo::Crs(read.crs_wkt).name();
    answer.trace = io::trace_plane(answer.plane, *read.terrain, options.terrain_sd_m, options.reach_m);
    io::write_plane_trace(options.trace, read.crs_wkt, *answer.trace, answer.plane);
}

int plane(PlaneOptions options) {
    for (geo::PlanePoint& point : options.points) {
        if (point.horizontal_sd_m == 0) point.horizontal_sd_m = options.horizontal_sd_m;
        if (point.height_sd_m == 0) point.height_sd_m = options.height_sd_m;
    }
    Answer answer;
    if (options.strike_deg) {
        const auto read = geo::plane_through(
            {*options.strike_deg, *options.dip_deg, options.strike_sd_deg, options.dip_sd_deg}, options.points.front());
        if (!read) return refuse(read.message, read.remedy);
        answer.plane = *read.value;
    } else {
        const auto read = geo::fit_plane(options.points);
        if (!read) return refuse(read.message, read.remedy);
        answer.plane = read.value->plane;
        answer.fit = read.value;
    }
    add_remarks(answer);
    if (!options.trace.empty()) draw_trace(answer, options);
    options.json ? print_machine(std::cout, answer, options) : print_human(std::cout, answer, options);
    return done;
}

/// "n 45 e" as "N45E".
std::string without_marks(const std::string& text) {
    std::string result;
    for (const char c : text) {
        if (c == ' ' || static_cast<unsigned char>(c) >= 0x80) continue;  // the degree sign
        result += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    }
    return result;
}

/// A number at the beginning, and what follows it.
std::optional<std::pair<double, std::string>> number_and_letters(const std::string& text) {
    double number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (error != std::errc() || !std::isfinite(number)) return std::nullopt;
    return std::pair(number, std::string(end, text.data() + text.size()));
}

/// Strike and dip as written: 84 and 22 by the right-hand rule; N45E and 22SE; 45 and 22NW, where the letters say to
/// which side of the line the bed dips.
void read_attitude(PlaneOptions& options) {
    constexpr std::pair<std::string_view, double> directions[] = {{"N", 0},   {"NE", 45},  {"E", 90},  {"SE", 135},
                                                                  {"S", 180}, {"SW", 225}, {"W", 270}, {"NW", 315}};
    const std::string strike = without_marks(options.strike), dip = without_marks(options.dip);
    std::optional<double> azimuth;
    bool quadrant = false;
    if (const auto plain = number_and_letters(strike); plain && plain->second.empty()) {
        if (plain->first >= 0 && plain->first <= 360) azimuth = plain->first;
    } else if (strike.size() > 2 && (strike.front() == 'N' || strike.front() == 'S')) {
        const auto angle = number_and_letters(strike.substr(1));
        if (angle && angle->first >= 0 && angle->first <= 90 && (angle->second == "E" || angle->second == "W")) {
            quadrant = true;
            const double east = angle->second == "E" ? angle->first : -angle->first;
            azimuth = std::fmod((strike.front() == 'N' ? east : 180 - east) + 360, 360);
        }
    }
    if (!azimuth)
        throw CLI::ValidationError("--strike", "'" + options.strike + "' is no strike; write 45 (0 to 360) or N45E.");
    const auto angle = number_and_letters(dip);
    const auto* side = angle ? std::find_if(std::begin(directions), std::end(directions),
                                            [&](const auto& direction) { return direction.first == angle->second; })
                             : std::end(directions);
    const bool sided = side != std::end(directions);
    if (!angle || angle->first < 0 || angle->first > 90 || (!angle->second.empty() && !sided)) {
        throw CLI::ValidationError(
            "--dip",
            "'" + options.dip + "' is no dip; write 22 (0 to 90), or 22SE with the side to which the bed dips.");
    }
    if (quadrant && !sided && angle->first > 0 && angle->first < 90) {
        throw CLI::ValidationError("--dip",
                                   "a strike written as " + options.strike +
                                       " leaves two sides; say to which the bed dips, such as " + options.dip +
                                       (std::abs(std::sin(*azimuth * std::numbers::pi / 180)) < 0.8 ? "E." : "S."));
    }
    if (sided) {
        const double to_the_right = std::cos((side->second - *azimuth - 90) * std::numbers::pi / 180);
        if (std::abs(to_the_right) < 1e-9) {
            throw CLI::ValidationError("--strike, --dip", "a bed that strikes " + options.strike + " does not dip to " +
                                                              std::string(side->first) +
                                                              ", which lies along its strike.");
        }
        if (to_the_right < 0) azimuth = std::fmod(*azimuth + 180, 360);
    }
    options.strike_deg = azimuth;
    options.dip_deg = angle->first;
}

void check(PlaneOptions& options) {
    if (!options.strike.empty() && !options.dip.empty()) read_attitude(options);
    if (options.strike.empty() != options.dip.empty()) {
        throw CLI::ValidationError("--strike, --dip", "strike and dip belong together.");
    }
    if (options.strike_deg && options.points.size() != 1) {
        throw CLI::ValidationError(
            "POINT", "strike and dip are given with one point, not " + std::to_string(options.points.size()) + ".");
    }
    if (options.terrain.empty() != options.trace.empty()) {
        throw CLI::ValidationError("--terrain, --trace",
                                   "a trace needs both: the terrain to read and the file to write.");
    }
}

}  // namespace

Command add_plane(CLI::App& parent) {
    auto options = std::make_shared<PlaneOptions>();
    CLI::App* app = parent.add_subcommand("plane", "Strike and dip of a bed from points on it, and where it crops out");
    app->add_option_function<std::vector<std::string>>(
           "POINT",
           [options](const std::vector<std::string>& words) {
               for (const auto& word : words) options->points.push_back(point_of(word));
           },
           "east,north,height in metres; and, if you wish, its standard errors in plan and in height")
        ->required();
    const auto errors = CLI::Range(0.0, 1e6).description("");
    app->add_option("--strike", options->strike,
                    "Measured strike: degrees by the right-hand rule (the bed dips to its right), or N45E")
        ->type_name("STRIKE");
    app->add_option(
           "--dip", options->dip,
           "Measured dip in degrees, with the side to which the bed dips where the strike leaves it open: 22 or 22SE")
        ->type_name("DIP");
    app->add_option("--strike-error", options->strike_sd_deg, "Standard error of the measured strike")
        ->type_name("DEG")
        ->check(errors);
    app->add_option("--dip-error", options->dip_sd_deg, "Standard error of the measured dip")
        ->type_name("DEG")
        ->check(errors);
    app->add_option("--plan-error", options->horizontal_sd_m,
                    "Standard error of points that state none, in each of east and north")
        ->type_name("M")
        ->check(errors);
    app->add_option("--height-error", options->height_sd_m, "The same in height")->type_name("M")->check(errors);
    app->add_option_function<std::vector<std::string>>(
           "--at",
           [options](const std::vector<std::string>& words) {
               for (const std::string& word : words) {
                   const auto parts = numbers(word);
                   if (!parts || parts->size() != 2)
                       throw CLI::ValidationError("--at", "'" + word + "' is no place; write east,north.");
                   options->places.push_back({(*parts)[0], (*parts)[1]});
               }
           },
           "Tell the plane's height at a place: east,north")
        ->type_name("PLACE")
        ->expected(1)
        ->take_all();
    app->add_option("--section", options->sections_deg, "Tell the apparent dip in a section of this direction")
        ->type_name("DEG")
        ->expected(1)
        ->take_all()
        ->check(CLI::Range(0.0, 360.0).description(""));
    app->add_option("--terrain", options->terrain, "Raster of heights over which the trace is drawn")
        ->type_name("FILE");
    app->add_option("--trace", options->trace, "Write the outcrop trace here: .gpkg or .geojson")->type_name("FILE");
    app->add_option("--crs", options->crs, "Projection of the points, such as EPSG:32633; the terrain's when left out")
        ->type_name("CRS");
    app->add_option("--vertical-unit", options->vertical_unit,
                    "Of the terrain, where the raster does not say or is wrong: m, ft, us-ft")
        ->type_name("UNIT")
        ->check(one_of("m ft us-ft"));
    app->add_option("--terrain-error", options->terrain_sd_m, "Standard error of the terrain's heights, for the band")
        ->type_name("M")
        ->check(errors);
    app->add_option("--reach", options->reach_m,
                    "Draw the trace no farther than this from the points; all the terrain when left out")
        ->type_name("M")
        ->check(errors);
    app->add_flag("--json", options->json, "Print the answer as JSON; its keys are listed below");
    app->footer(
        "Example: subcrop plane 393,2374,550 1891,2738,650 2191,1037,450 --plan-error 10 --height-error 5\n"
        "         subcrop plane 541200,6232100,120 --strike 84 --dip 22 --terrain dem.tif --trace bed.gpkg\n"
        "A point that begins with a minus goes after '--'.\n\n"
        "Exit codes: 0 done, 1 the points make no plane or a file cannot be read or written, 2 wrong usage.\n\n"
        "Keys of --json:\n"
        "  strike_deg, dip_deg, dip_azimuth_deg  strike by the right-hand rule; null where the plane is level\n"
        "  strike_sd_deg, dip_sd_deg             standard errors; null where no error is known\n"
        "  normal, through                       upward unit normal and a place on the plane: east, north, up\n"
        "  points, rms_m, chi_square, p_value    of a fit: how many, and how far from the plane they lie\n"
        "  heights                               for each --at: x, y, height_m, height_sd_m\n"
        "  sections                              for each --section: direction_deg, apparent_dip_deg\n"
        "  trace                                 file, lines, length_m, band_area_m2\n"
        "  remarks, sources                      what to heed; where the figures come from");
    app->callback([options] { check(*options); });
    return {app, [options] { return plane(*options); }};
}

}  // namespace subcrop::cli
