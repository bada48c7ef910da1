// The words `subcrop run` and `subcrop check` print.
#pragma once

#include <ostream>

#include "subcrop/publish/survey_run.hpp"

namespace subcrop::cli {

void print_summary(std::ostream& out, const publish::RunSummary& summary, std::size_t width);
/// What a later run says that the one before did not. Needs RunOptions::keep_problems.
void print_difference(std::ostream& out, const publish::RunSummary& before, const publish::RunSummary& now,
                      std::size_t width);
void print_summary(std::ostream& out, const publish::CheckSummary& summary, std::size_t width);

}  // namespace subcrop::cli
