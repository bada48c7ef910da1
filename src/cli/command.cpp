#include "cli/command.hpp"

namespace subcrop::cli {

const CLI::Validator named(
    [](const std::string& word) {
        return word.empty() ? std::string("A name is wanted; '.' is the folder you are in.") : std::string();
    },
    "");

void add_common_options(CLI::App& app, CommonOptions& options) {
    app.add_option("SURVEY", options.survey, "The survey file (JSON)")->type_name("FILE")->required();
    app.add_option("--threads", options.threads, "Threads to use; 0, as when left out, uses all. Changes no result")
        ->type_name("N")
        ->check(CLI::Range(0, 1024).description(""));
    app.add_flag("--json", options.json, "Print the result as JSON; its keys are listed below");
    app.add_flag("--quiet", options.quiet, "No progress and no summary; JSON, where asked for, is still printed");
}

}  // namespace subcrop::cli
