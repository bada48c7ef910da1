// A document for word processors, by pandoc if it is installed.
#pragma once

#include <filesystem>
#include <string>

namespace subcrop::publish::chapter {

/// True if the program is on PATH.
bool is_installed(const std::string& program);

/// Lets pandoc write `target` (its ending tells the format) from `markdown`, with figures from `folder`. The same input
/// gives the same bytes. If pandoc fails, throws Error with its message.
void write_by_pandoc(const std::filesystem::path& markdown, const std::filesystem::path& folder,
                     const std::filesystem::path& target);

}  // namespace subcrop::publish::chapter
