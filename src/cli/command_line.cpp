#include "cli/command_line.hpp"

#include "cli/screen.hpp"
#include "subcrop/publish/glossary.hpp"
#include "subcrop/publish/library_versions.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

namespace {

/// The glossary, a term a line.
std::string words() {
    std::string text;
    for (const publish::Term& term : publish::glossary()) {
        text += "  " + std::string(term.word) + std::string(18 - width_of(term.word), ' ');
        text += wrapped(term.meaning, 20, 100) + '\n';
    }
    return text;
}

/// What --version prints; each library's own line makes it easy to copy into a report.
std::string versions() {
    std::string text = "subcrop " + std::string(publish::version());
    for (const publish::LibraryVersion& library : publish::library_versions())
        text += '\n' + library.name + ' ' + library.version;
    return text;
}

}  // namespace

std::vector<std::string> CommandLine::verbs() const {
    std::vector<std::string> names;
    for (const Command& command : commands) names.push_back(command.app->get_name());
    return names;
}

CommandLine command_line() {
    CommandLine line;
    line.app = std::make_unique<CLI::App>(
        "Which mapped unit does the soil at each stop fit, and where does the draft map disagree?", "subcrop");
    CLI::App& app = *line.app;
    app.set_version_flag("--version", versions, "Print the version, and those of the libraries in use");
    app.require_subcommand(1);
    app.footer("'subcrop VERB --help' tells more about each.\nExample: subcrop run sampledata/survey.json\n\nWords\n" +
               words());
    line.commands = {add_run(app),    add_check(app),   add_decide(app),  add_adopt(app),
                     add_trial(app),  add_field(app),   add_chapter(app), add_new(app),
                     add_colour(app), add_texture(app), add_jar(app),     add_plane(app)};
    return line;
}

}  // namespace subcrop::cli
