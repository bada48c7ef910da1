// write_pages FOLDER: writes the manual pages and the bash completion of the program there. The build runs it.
#include <filesystem>
#include <fstream>
#include <iostream>

#include "cli/command_line.hpp"
#include "cli/pages.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace {

namespace cli = subcrop::cli;

void write(const std::filesystem::path& file, const std::string& text) {
    std::ofstream out(file, std::ios::binary);
    out << text;
    out.close();
    if (!out) throw std::runtime_error(file.string() + " cannot be written");
}

}  // namespace

int main(int argc, char** argv) {
    try {
        if (argc != 2) throw std::runtime_error("usage: write_pages FOLDER");
        const std::filesystem::path folder = argv[1];
        std::filesystem::create_directories(folder);
        const cli::CommandLine line = cli::command_line();
        const std::string name = line.app->get_name();
        const std::string_view version = subcrop::publish::version();
        write(folder / (name + ".1"), cli::man_page(*line.app, *line.app, version));
        for (const cli::Command& command : line.commands)
            write(folder / (name + '-' + command.app->get_name() + ".1"),
                  cli::man_page(*line.app, *command.app, version));
        write(folder / (name + ".bash"), cli::bash_completion(*line.app));
        return 0;
    } catch (const std::exception& error) {
        std::cerr << "write_pages: " << error.what() << '\n';
        return 1;
    }
}
