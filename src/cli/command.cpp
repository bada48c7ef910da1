#include "cli/command.hpp"

namespace subcrop::cli {

const CLI::Validator named(
    [](const std::string& word) {
        return word.empty() ? std::string("Give a name; '.' is the current folder.") : std::string();
    },
    "");

void add_common_options(CLI::App& app, CommonOptions& options) {
    app.add_option("SURVEY", options.survey, "The survey file (JSON)")->type_name("FILE")->required();
    app.add_option("--threads", options.threads, "Threads to use (default 0: all). Changes no result")
        ->type_name("N")
        ->check(CLI::Range(0, 1024).description(""));
    app.add_flag("--json", options.json, "Print the result as JSON; its keys are listed below");
    app.add_flag("--quiet", options.quiet, "No progress and no summary; --json still prints");
}

}  // namespace subcrop::cli
