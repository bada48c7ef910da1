// A document for word processors, through pandoc where it is installed.
#pragma once

#include <filesystem>
#include <string>

namespace subcrop::publish::chapter {

/// True where the program can be found on PATH.
bool is_installed(const std::string& program);

/// Has pandoc write `target` (its ending says what) from `markdown`, whose figures are taken from `folder`. The same
/// input gives the same bytes. Throws Error with what pandoc said where it fails.
void write_by_pandoc(const std::filesystem::path& markdown, const std::filesystem::path& folder,
                     const std::filesystem::path& target);

}  // namespace subcrop::publish::chapter
