#include <exception>
#include <iostream>
#include <new>
#include <string>
#include <string_view>
#include <vector>

#include "cli/command.hpp"
#include "cli/environment.hpp"
#include "cli/screen.hpp"
#include "cli/stopping.hpp"
#include "cli/visible.hpp"
#include "io/nearest_name.hpp"
#include "subcrop/publish/glossary.hpp"
#include "subcrop/publish/survey_run.hpp"

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

/// The glossary, a term a line.
std::string words() {
    std::string text;
    for (const publish::Term& term : publish::glossary()) {
        text += "  " + std::string(term.word) + std::string(18 - cli::width_of(term.word), ' ');
        text += cli::wrapped(term.meaning, 20, 100) + '\n';
    }
    return text;
}

int command_line(int argc, char** argv) {
    CLI::App app("Which mapped unit does the soil at each stop fit, and where does the draft map disagree?", "subcrop");
    app.set_version_flag("--version", "subcrop " + std::string(publish::version()));
    app.require_subcommand(1);
    app.footer("'subcrop VERB --help' tells more about each.\nExample: subcrop run sampledata/survey.json\n\nWords\n" + words());
    const std::vector<cli::Command> commands = {cli::add_run(app),     cli::add_check(app), cli::add_decide(app),
                                                cli::add_adopt(app),   cli::add_trial(app), cli::add_field(app),
                                                cli::add_chapter(app), cli::add_new(app),   cli::add_colour(app),
                                                cli::add_texture(app), cli::add_jar(app),   cli::add_plane(app)};

    std::vector<std::string> verbs;
    for (const cli::Command& command : commands) verbs.push_back(command.app->get_name());
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
        const int code = command_line(argc, argv);
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
