// Keeps results from replacing what they come from.
//
//     refuse_to_replace(files_of(survey), files_written_for("results/units.csv"));
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

struct OwnSource {
    std::string what;    ///< "map", as in "the map they come from"
    std::string source;  ///< as the survey file writes it
    std::filesystem::path path;
};

/// The survey file, all files and folders that it names, and what belongs to them by name: parts of a shapefile,
/// journals.
std::vector<OwnSource> sources_of(const SurveyFile& survey);
/// The sources of a survey and the decisions beside it: what no other file may replace.
std::vector<OwnSource> files_of(const SurveyFile& survey);
/// One source by itself.
std::vector<OwnSource> files_of(const std::string& what, const std::string& source, const std::filesystem::path& path);

/// Throws Error where a file that is to be written is one of the sources by path, symbolic or hard link, or would come
/// into a folder that is one.
void refuse_to_replace(const std::vector<OwnSource>& sources, const std::vector<std::filesystem::path>& written);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
