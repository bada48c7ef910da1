// Every column of a field book and a legend: what it is, what the readers accept in it, and what a form offers for it.
// The one table behind the readers' limits, the names the survey file may map and the empty field book.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "io/text_values.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/io/survey_file.hpp"

namespace subcrop::io {

struct BookColumn {
    std::string name;
    FieldType type = FieldType::text;
    std::string description;  ///< a sentence
    std::string example;
    std::string domain = {};  ///< of `book_domains`; empty: any text or number
    NumberRule rule = {};     ///< of a number: what the readers accept
};

/// The stop table's columns, without coordinates.
const std::vector<BookColumn>& stop_book();
/// The horizon table's columns, without the stop it belongs to.
const std::vector<BookColumn>& horizon_book();
/// The column that ties a horizon to its stop.
const BookColumn& horizon_stop_column();
/// And that which ties a horizon of a log to its borehole.
const BookColumn& log_hole_column();
const std::vector<BookColumn>& legend_book();
/// Those of boreholes and attitudes, without coordinates.
const std::vector<BookColumn>& borehole_book();
const std::vector<BookColumn>& attitude_book();
/// The draft map's columns.
const std::vector<BookColumn>& map_book();

/// Pick lists and ranges, from the tables the readers of notes use. Ranges end where no field book goes, the readers'
/// own may be open.
const std::vector<Domain>& book_domains();

/// Rule of a stop, horizon or legend column that holds a number.
const NumberRule& rule_of(const std::vector<BookColumn>& book, const std::string& name);

/// What is done where a stated `position_sd_m` cannot be used, for a problem: "the default of 10 m is used".
std::string instead_of_position_sd(const SurveyFile& file);

}  // namespace subcrop::io
