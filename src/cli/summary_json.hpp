// Run and check summaries as JSON, for machines.
#pragma once

#include <string>

#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

std::string to_json(const publish::RunSummary& summary);
std::string to_json(const publish::CheckSummary& summary);

/// What the keys mean, for the help of the verbs.
extern const char* const run_json_keys;
extern const char* const check_json_keys;

}  // namespace subcrop::cli
