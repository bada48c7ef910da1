// Boreholes and attitudes: two small tables of points, each brought into the working projection as it is read.
#pragma once

#include <string>
#include <vector>

#include "io/field_book.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/core/text.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/model/borehole.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::io {

/// Boreholes read; `stops`, `holes`, `unit_seen` and `carried` run parallel.
struct BoreholeTable {
    std::vector<model::Stop> stops;  ///< working projection
    std::vector<model::Borehole> holes;
    std::vector<Text> unit_seen;             ///< as written
    std::vector<std::vector<Text>> carried;  ///< of each hole what the columns named in `carry` hold
    std::vector<std::string> left_out;       ///< names of holes without a usable position
    std::string source;
    model::ColumnNames names;  ///< as the layer calls our columns
    model::CoordinateOperation operation;
};

/// Throws Error if the source, its coordinates or the column `hole` cannot be read at all.
BoreholeTable read_boreholes(const SurveyFile& file, const geo::Crs& working, TextPool& texts, ProblemLog& problems);

/// Puts the holes behind the stops, with no values for the stops' extra evidence. A hole whose name a stop has gets
/// another.
void append_boreholes(StopTable& stops, BoreholeTable& holes, ProblemLog& problems);

struct AttitudeTable {
    std::vector<model::Attitude> attitudes;
    std::string source;
    model::CoordinateOperation operation;
};

/// Throws Error if the source, its coordinates or a column of strike and dip cannot be read at all.
AttitudeTable read_attitudes(const SurveyFile& file, const geo::Crs& working, ProblemLog& problems);

}  // namespace subcrop::io
