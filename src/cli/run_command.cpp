#include <filesystem>
#include <iostream>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "cli/command.hpp"
#include "cli/memory.hpp"
#include "cli/progress_bar.hpp"
#include "cli/run_report.hpp"
#include "cli/screen.hpp"
#include "cli/summary_json.hpp"
#include "cli/watch.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

namespace {

struct RunCommandOptions : CommonOptions {
    std::optional<std::string> results;
    bool report = false;
    bool no_report = false;
    bool as_drawn = false;
    bool watch = false;
    std::optional<double> grid_m;
    std::vector<publish::OutputFormat> formats;
    std::string database, schema = publish::DatabaseTarget{}.schema;
};

/// Bytes of the files that hold stops, horizons and map.
std::size_t size_of_sources(const io::SurveyFile& survey) {
    std::size_t bytes = 0;
    const auto add = [&](const io::SourceDescription& source) {
        std::error_code none;
        const std::uintmax_t size = std::filesystem::file_size(io::resolved_source(survey, source.source), none);
        if (!none) bytes += static_cast<std::size_t>(size);
    };
    add(survey.stops);
    if (survey.horizons) add(*survey.horizons);
    if (survey.map) add(*survey.map);
    return bytes;
}

int run(const RunCommandOptions& options) {
    // GeoPackages of 0.66 GB make a run of 1.6 GB, those of 0.58 GB one of 1.3; the same in text makes a larger one
    // yet.
    const io::SurveyFile file = io::read_survey_file(options.survey);
    prepare_memory(2 * size_of_sources(file));
    publish::RunOptions run_options;
    run_options.threads = options.threads;
    if (options.results) run_options.results = *options.results;
    if (options.report || options.no_report) run_options.report = options.report;
    run_options.formats = options.formats;
    run_options.grid_m = options.grid_m;
    if (options.as_drawn) run_options.described_by = infer::DescribedBy::draft;
    if (!options.database.empty()) run_options.database = {options.database, options.schema};
    if (options.watch) run_and_watch(options.survey, std::move(run_options), options.quiet);
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const publish::RunSummary summary = publish::run_survey(file, run_options, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json)
        std::cout << to_json(summary) << '\n';
    else if (!options.quiet)
        print_summary(std::cout, summary, screen_width());
    return done;
}

}  // namespace

Command add_run(CLI::App& parent) {
    auto options = std::make_shared<RunCommandOptions>();
    CLI::App* app = parent.add_subcommand(
        "run", "Judge every stop of a survey against its draft map; write results.gpkg and report.html");
    add_common_options(*app, *options);
    app->add_option("--results", options->results, "Folder to write, instead of the one the survey file names")
        ->type_name("FOLDER")
        ->check(named);
    CLI::Option* report = app->add_flag("--report", options->report, "Also write report.html above 20,000 stops");
    app->add_flag("--no-report", options->no_report, "Write no report.html")->excludes(report);
    app->add_flag("--as-drawn", options->as_drawn,
                  "For comparison: describe each unit by the stops drawn on it, not by probability");
    app->add_flag(
           "--watch", options->watch,
           "Run again whenever the survey file or a file it names changes, and print what changed, until Ctrl-C. "
           "A database, and a network drive that another computer writes to, are not watched")
        ->excludes("--json");
    app->add_option(
           "--grid", options->grid_m,
           "Also write confidence.tif with cells of this size: most probable unit, its probability, entropy (bits)")
        ->type_name("METRES")
        ->check(CLI::Range(0.1, 100000.0));
    const std::map<std::string, publish::OutputFormat> formats{{"csv", publish::OutputFormat::csv},
                                                               {"geojson", publish::OutputFormat::geojson},
                                                               {"flatgeobuf", publish::OutputFormat::flatgeobuf},
                                                               {"shapefile", publish::OutputFormat::shapefile},
                                                               {"kml", publish::OutputFormat::kml},
                                                               {"gpx", publish::OutputFormat::gpx}};
    app->add_option(
           "--format", options->formats,
           "Also write each layer as csv, geojson, flatgeobuf, shapefile, kml or gpx, in a folder of that name; "
           "may be repeated")
        ->type_name("FORMAT")
        ->check(offers("csv geojson flatgeobuf shapefile kml gpx"))
        ->transform(CLI::Validator(
            [formats](std::string& word) -> std::string {
                const auto found = formats.find(CLI::detail::to_lower(word));
                if (found == formats.end())
                    return "'" + word + "' is not a format; write csv, geojson, flatgeobuf, shapefile, kml or gpx";
                word = std::to_string(static_cast<int>(found->second));
                return {};
            },
            ""));
    CLI::Option* database =
        app->add_option("--postgis", options->database,
                        "Also write the layers to this PostGIS database, such as 'PG:host=localhost dbname=survey'. "
                        "Keep passwords in ~/.pgpass")
            ->type_name("CONNECTION")
            ->check([](const std::string& text) {
                return text.starts_with("PG:")
                           ? std::string()
                           : "A connection begins with 'PG:', such as 'PG:host=localhost dbname=survey'.";
            });
    app->add_option("--schema", options->schema,
                    "Schema of the database (default 'subcrop'); made if missing, refused if it holds other things")
        ->type_name("NAME")
        ->needs(database);
    app->footer(
        std::string("Example: subcrop run sampledata/survey.json --results /tmp/valley\n\n"
                    "results.gpkg opens in any GIS, report.html in any browser, without a network.\n"
                    "Older files are replaced only when the new ones are whole.\n"
                    "The folder 'history' beside them keeps a small record of each run, the newest 30. The next run\n"
                    "compares itself with them and says what changed.\n"
                    "Exit codes: 0 done, 1 the run failed, 2 wrong usage.\n\n") +
        run_json_keys);
    return {app, [options] { return run(*options); }};
}

}  // namespace subcrop::cli
