#include <exception>
#include <iostream>
#include <new>
#include <string>
#include <string_view>
#include <vector>

#include "cli/command_line.hpp"
#include "cli/environment.hpp"
#include "cli/stopping.hpp"
#include "cli/visible.hpp"
#include "io/nearest_name.hpp"

namespace {

using namespace subcrop;

/// The first word on the command line that is no verb, where one was wanted; empty: none such.
std::string unknown_verb(int argc, char** argv, const std::vector<std::string>& verbs) {
    for (int i = 1; i < argc; ++i) {
        const std::string word = argv[i];
        if (word.starts_with('-')) continue;
        for (const std::string& verb : verbs)
            if (word == verb) return {};
        return word;
    }
    return {};
}

int run_command_line(int argc, char** argv) {
    const cli::CommandLine line = cli::command_line();
    CLI::App& app = *line.app;
    const std::vector<cli::Command>& commands = line.commands;
    const std::vector<std::string> verbs = line.verbs();
    if (const std::string word = unknown_verb(argc, argv, verbs); !word.empty()) {
        std::cerr << "subcrop: there is no verb '" << cli::visible(word) << "'. " << io::did_you_mean(word, verbs)
                  << "The verbs are " << io::listed(verbs) << "; see 'subcrop --help'.\n";
        return cli::wrong_usage;
    }
    if (argc < 2) {
        std::cerr << "subcrop: no verb was given. The verbs are " << io::listed(verbs) << "; see 'subcrop --help'.\n";
        return cli::wrong_usage;
    }
    try {
        app.parse(argc, argv);
    } catch (const CLI::Success& asked) {  // --help, --version
        app.exit(asked);
        return cli::done;
    } catch (const CLI::ParseError& wrong) {
        std::string verb;
        for (const cli::Command& command : commands)
            if (command.app->parsed()) verb = command.app->get_name() + ' ';
        std::cerr << "subcrop: " << wrong.what() << "\nSee 'subcrop " << verb << "--help'.\n";
        return cli::wrong_usage;
    }
    for (const cli::Command& command : commands)
        if (command.app->parsed()) return command.run();
    return cli::wrong_usage;
}

}  // namespace

int main(int argc, char** argv) {
    try {
        const cli::VisibleOutput visible_output;
        cli::settle_environment();
        cli::stop_cleanly();
        const int code = run_command_line(argc, argv);
        std::cout.flush();
        if (!std::cout) {
            std::cerr << "subcrop: the result could not be printed; is the disk full?\n";
            return cli::failed;
        }
        return code;
    } catch (const std::bad_alloc&) {
        std::cerr << "subcrop: the computer has not enough memory. Close other programs, or split the survey.\n";
    } catch (const std::exception& error) {
        std::cerr << "subcrop: " << cli::visible(error.what()) << '\n';
    }
    return cli::failed;
}
