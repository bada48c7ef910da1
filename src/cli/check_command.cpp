#include <algorithm>
#include <iostream>
#include <memory>

#include "cli/command.hpp"
#include "cli/progress_bar.hpp"
#include "cli/run_report.hpp"
#include "cli/screen.hpp"
#include "cli/summary_json.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

namespace {

int check(const CommonOptions& options) {
    publish::RunOptions run_options;
    run_options.threads = options.threads;
    std::unique_ptr<Progress> progress = make_progress(options.quiet);
    const publish::CheckSummary summary = publish::check_survey(options.survey, run_options, *progress);
    progress.reset();  // wipes the bar before anything is printed
    if (options.json)
        std::cout << to_json(summary) << '\n';
    else if (!options.quiet)
        print_summary(std::cout, summary, screen_width());
    const bool bad =
        !summary.to_fill_in.empty() || std::any_of(summary.problems.begin(), summary.problems.end(),
                                                   [](const Problem& p) { return p.severity != Severity::note; });
    return bad ? problems_found : done;
}

}  // namespace

Command add_check(CLI::App& parent) {
    auto options = std::make_shared<CommonOptions>();
    CLI::App* app =
        parent.add_subcommand("check", "Read a survey and list what is wrong in it, without judging or writing");
    add_common_options(*app, *options);
    app->footer(
        std::string("Example: subcrop check sampledata/survey.json\n\n"
                    "Exit codes: 0 nothing worse than notes, 1 the survey cannot be read, 2 wrong usage, 3 problems "
                    "found,\nor something is not filled in yet.\n\n") +
        check_json_keys);
    return {app, [options] { return check(*options); }};
}

}  // namespace subcrop::cli
