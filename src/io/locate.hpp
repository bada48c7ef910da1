// Brings stops and map into the working projection and leaves out what has no place there.
#pragma once

#include <cstdint>
#include <vector>

#include "io/field_book.hpp"
#include "io/map_reader.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::io {

/// Moves the stops in place, adds the operation's accuracy to their position errors and drops those outside the
/// systems' areas. Call before `locate_map`: the map, still in its own system, shows up swapped coordinates and wrong
/// systems, which are Errors. `map` may be null.
model::CoordinateOperation locate_stops(const SurveyFile& file, const geo::Crs& working, StopTable& stops,
                                        const MapTable* map, unsigned threads, ProblemLog& problems);

/// Moves the polygons in place and repairs those that are not valid; each repair is a problem with its reason.
model::CoordinateOperation locate_map(const SurveyFile& file, const geo::Crs& working, MapTable& map, unsigned threads,
                                      ProblemLog& problems);

}  // namespace subcrop::io
