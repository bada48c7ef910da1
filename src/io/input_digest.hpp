// Tells whether two runs read the same bytes.
//
//     digest_of_inputs(file)   // "9f86d081884c7d65"
//
// A plain 64-bit hash: it finds changes and is no proof against somebody who forges them. It reads every byte once.
#pragma once

#include <string>

#include "subcrop/core/export.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// Of the survey file and of all files it names, with journals that hold changes. A file of more than 4 GB counts by
/// its size and time of change, photographs by their names and sizes. Sources that are no files, such as a database,
/// count by their names alone. A file that cannot be read counts as missing.
std::string digest_of_inputs(const SurveyFile& file);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
