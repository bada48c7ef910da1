#include <iostream>
#include <memory>

#include "cli/command.hpp"
#include "cli/screen.hpp"
#include "cli/visible.hpp"
#include "subcrop/io/new_survey.hpp"

namespace subcrop::cli {

namespace {

std::string what_it_is(const std::string& file) {
    if (file == "survey.json") return "the survey file, which names all the others";
    if (file == "field_book.gpkg")
        return "layers stops, horizons, boreholes, logs, attitudes and legend, with pick lists for GIS forms";
    if (file == "stops.csv") return "the stops, one row each";
    if (file == "horizons.csv") return "the horizons of the stops, one row each";
    if (file == "boreholes.csv") return "boreholes, if there are any";
    if (file == "borehole_logs.csv") return "the horizons of the boreholes, one row each";
    if (file == "attitudes.csv") return "strikes and dips, if there are any";
    if (file == "legend.csv") return "the map units, one row each";
    if (file == "draft_map.gpkg") return "layer units, for the polygons of your draft map";
    return "each column: what it takes, unit, example";
}

/// As a shell takes it.
std::string shell_word(const std::string& path) {
    if (path.find_first_of(" '\"\\$&;()*?[]<>|`!~#") == std::string::npos) return path;
    std::string word = "'";
    for (const char c : path) word += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return word + '\'';
}

int make(const io::NewSurvey& wanted, bool quiet) {
    const std::vector<std::filesystem::path> files = io::write_new_survey(wanted);
    if (quiet) return done;
    const std::size_t width = screen_width();
    std::cout << "A survey to fill in, in " << visible(wanted.folder.lexically_normal().string()) << '\n';
    std::vector<std::pair<std::string, std::string>> rows;
    for (const auto& file : files) rows.emplace_back(file.filename().string(), what_it_is(file.filename().string()));
    print_pairs(std::cout, rows, width);
    const std::string survey = shell_word(files.front().string());
    std::cout << "\nThe next three steps\n";
    const std::string book = wanted.csv ? "Fill in stops.csv and horizons.csv in a spreadsheet"
                                        : "Open field_book.gpkg in a GIS and add your stops, then their horizons";
    print_pairs(std::cout,
                {{"1", book + ". Draw your draft in draft_map.gpkg, or name your own file under 'map' in survey.json."},
                 {"2", "subcrop check " + survey + " lists what is missing and what looks wrong."},
                 {"3", "subcrop run " + survey + " judges every stop and writes the results."}},
                width);
    return done;
}

}  // namespace

Command add_new(CLI::App& parent) {
    struct Options {
        std::string folder;
        io::NewSurvey wanted;
        bool quiet = false;
    };
    auto options = std::make_shared<Options>();
    CLI::App* app =
        parent.add_subcommand("new", "Make an empty survey to fill in: field book, legend, draft map, survey file");
    app->add_option("FOLDER", options->folder, "The folder to write; made if it is missing")
        ->type_name("FOLDER")
        ->required()
        ->check(named);
    app->add_option("--title", options->wanted.title, "Title of the survey (default: the folder's name)")
        ->type_name("TEXT");
    app->add_option("--crs", options->wanted.crs,
                    "Coordinate reference system of stops and draft map (default: degrees, EPSG:4326)")
        ->type_name("CODE")
        ->capture_default_str();
    app->add_flag("--csv", options->wanted.csv, "Write CSV tables instead of a GeoPackage");
    app->add_flag("--quiet", options->quiet, "Print nothing");
    app->footer(
        "Example: subcrop new hesk --title 'Hesk valley' --crs EPSG:32631\n\n"
        "Existing files are never replaced.\n\n"
        "Exit codes: 0 done, 1 the folder cannot be written or already holds such files, 2 wrong usage.");
    return {app, [options] {
                options->wanted.folder = options->folder;
                return make(options->wanted, options->quiet);
            }};
}

}  // namespace subcrop::cli
