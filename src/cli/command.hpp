// What every verb of the command line is: options, then one library call, then words on the screen.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>
#include <ostream>
#include <string>
#include <string_view>

namespace subcrop::cli {

/// Exit codes; the help of each verb names those it uses.
enum ExitCode : int { done = 0, failed = 1, wrong_usage = 2, problems_found = 3 };

/// A verb once its options are known to the parser. `run` is called after a successful parse and returns the exit code.
struct Command {
    CLI::App* app = nullptr;
    std::function<int()> run;
};

Command add_new(CLI::App& parent);
Command add_run(CLI::App& parent);
Command add_check(CLI::App& parent);
Command add_trial(CLI::App& parent);
Command add_chapter(CLI::App& parent);
Command add_field(CLI::App& parent);
Command add_decide(CLI::App& parent);
Command add_adopt(CLI::App& parent);
// Pocket calculators
Command add_colour(CLI::App& parent);
Command add_texture(CLI::App& parent);
Command add_jar(CLI::App& parent);
Command add_plane(CLI::App& parent);

/// A check for words that name a folder or a file. An empty word would mean the current folder.
extern const CLI::Validator named;

/// A check that a word is one of these, separated by spaces; shell completion offers them.
CLI::Validator one_of(const std::string& words, bool any_case = false);
/// A check that accepts everything. Shell completion offers these words at its place.
CLI::Validator offers(std::string_view words);
/// The words offered, separated by spaces; empty where there are none.
std::string offered_words(const CLI::Option& option);

/// Options that several verbs share.
struct CommonOptions {
    std::string survey;
    unsigned threads = 0;
    bool json = false;
    bool quiet = false;
};

/// Adds SURVEY, --threads, --json and --quiet.
void add_common_options(CLI::App& app, CommonOptions& options);

}  // namespace subcrop::cli
