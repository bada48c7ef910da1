// `subcrop run --watch`.
#pragma once

#include <filesystem>

#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

/// Runs, prints the summary, and runs again whenever the survey file or a file it names changes; then prints what
/// changed. Ends with the program.
[[noreturn]] void run_and_watch(const std::filesystem::path& survey, publish::RunOptions options, bool quiet);

}  // namespace subcrop::cli
