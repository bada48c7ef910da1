// The program's command line: every verb, its options and its words. Help, manual pages and shell completion all come
// from it.
#pragma once

#include <CLI/CLI.hpp>
#include <memory>
#include <string>
#include <vector>

#include "cli/command.hpp"

namespace subcrop::cli {

struct CommandLine {
    std::unique_ptr<CLI::App> app;
    std::vector<Command> commands;  ///< verbs in the order in which the help names them

    std::vector<std::string> verbs() const;
};

CommandLine command_line();

}  // namespace subcrop::cli
