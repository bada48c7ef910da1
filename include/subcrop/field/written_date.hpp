// Dates as people write them, if they can be read without guessing.
//
//     std::string day = *read_date("12 May 2026").value;         // "2026-05-12"
//     std::string minute = *read_date("12.V.2026 14:30").value;  // "2026-05-12 14:30"
//     std::string unclear = read_date("05/12/2026").message;     // may be 5 December or 12 May
//     std::string partial = read_date("May 12").message;         // lacks its year
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// Year, month and day as in ISO 8601, followed by the time of day if one was written. Month names are English, or
/// Roman numerals. With points the day comes first: 05.12.2026 is the fifth of December.
Parsed<std::string> read_date(std::string_view text);

/// Seconds since 1970 of a date with its time of day as `read_date` gives them, both taken as UTC; nothing without a
/// time.
std::optional<std::int64_t> seconds_of(std::string_view date_and_time);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
