// Where a survey's results go.
#pragma once

#include <filesystem>
#include <optional>

#include "subcrop/io/survey_file.hpp"

namespace subcrop::publish {

/// The folder asked for, else the survey file's own.
inline std::filesystem::path results_folder(const io::SurveyFile& file,
                                            const std::optional<std::filesystem::path>& asked) {
    std::filesystem::path folder = asked ? *asked : std::filesystem::path(file.results);
    if (!asked && folder.is_relative()) folder = file.path.parent_path() / folder;
    return folder.lexically_normal();
}

}  // namespace subcrop::publish
