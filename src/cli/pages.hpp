// Manual pages and shell completion, from the same definitions as --help.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace subcrop::cli {

/// The manual page (section 1) of the program or, with a verb of it as `page`, of the verb; for `man`.
std::string man_page(const CLI::App& program, const CLI::App& page, std::string_view version);

/// What bash reads to complete verbs, options, and the words, files or folders that follow an option.
std::string bash_completion(const CLI::App& program);

}  // namespace subcrop::cli
