// The time of a run.
#pragma once

#include <ctime>
#include <string>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// Seconds since 1970: SOURCE_DATE_EPOCH (reproducible-builds.org) where it is set, else the clock. Throws Error where
/// the variable holds no whole number.
std::time_t run_time();

/// A time in UTC, written as strftime has it.
std::string utc_text(std::time_t seconds, const char* format);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
