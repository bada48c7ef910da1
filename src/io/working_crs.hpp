// Chooses the projection in which the whole survey is computed.
#pragma once

#include <optional>

#include "io/field_book.hpp"
#include "io/map_reader.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {

/// The survey file's `crs`; else the map's where it is projected in metres; else the UTM zone of the data's centre.
/// Throws Error where the survey file's is not projected in metres.
geo::Crs working_crs(const SurveyFile& file, const MapTable* map, const StopTable& stops, ProblemLog& problems);

}  // namespace subcrop::io
