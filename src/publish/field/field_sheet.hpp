// The sheet to print: maps of the next stops at a round scale, both coordinates of each, what to look for, and blanks
// to write in.
#pragma once

#include <string>

#include "publish/field/field_trip.hpp"

namespace subcrop::publish {

enum class Paper { a4, letter };

/// One HTML page without network access and script. Printed at 100 %, its lengths are true millimetres.
std::string field_sheet(const JudgedSurvey& judged, const FieldTrip& trip, Paper paper);

}  // namespace subcrop::publish
