// The coordinate reference system of a source: the survey file's word for it, else the layer's own.
#pragma once

#include <string>

#include "io/table.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/survey_file.hpp"

namespace subcrop::io {

/// Throws Error, with what to write where, when neither states one or the one stated is not known.
geo::Crs source_crs(const SurveyFile& file, const SourceDescription& description, const Table& table);

}  // namespace subcrop::io
