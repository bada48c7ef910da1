#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>

#include "cli/command.hpp"
#include "cli/memory.hpp"
#include "cli/progress_bar.hpp"
#include "cli/run_report.hpp"
#include "cli/screen.hpp"
#include "cli/summary_json.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

namespace {

struct RunCommandOptions : CommonOptions {
    std::optional<std::string> results;
};

int run(const RunCommandOptions& options) {
    prepare_memory();
    publish::RunOptions run_options;
    run_options.threads = options.threads;
    if (options.results) run_options.results = *options.results;
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const publish::RunSummary summary = publish::run_survey(options.survey, run_options, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json) std::cout << to_json(summary) << '\n';
    else if (!options.quiet) print_summary(std::cout, summary, screen_width());
    return done;
}

}  // namespace

Command add_run(CLI::App& parent) {
    auto options = std::make_shared<RunCommandOptions>();
    CLI::App* app = parent.add_subcommand(
        "run", "Judge every stop of a survey against its draft map and write results.gpkg");
    add_common_options(*app, *options);
    app->add_option("--results", options->results, "Folder to write, instead of the one the survey file names")
        ->type_name("FOLDER");
    app->footer(std::string("Example: subcrop run sampledata/survey.json --results /tmp/valley\n\n"
                            "results.gpkg opens in any GIS. An older one is replaced only when the new one is whole.\n"
                            "Exit codes: 0 done, 1 the run failed, 2 wrong usage.\n\n") +
                run_json_keys);
    return {app, [options] { return run(*options); }};
}

}  // namespace subcrop::cli
