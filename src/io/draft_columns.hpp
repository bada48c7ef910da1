// Other columns of a draft map, so that the next draft can have them too.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <variant>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/io/survey_file.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

using DraftCell = std::variant<std::monostate, std::string, std::int64_t, double>;

struct DraftColumns {
    std::vector<FieldDefinition> columns;                 ///< in the table's order, the feature id left out
    std::map<std::int64_t, std::vector<DraftCell>> rows;  ///< by MapPolygon::row
    std::string unit_column;                              ///< which of them names the unit
};

/// Text, whole numbers and decimals keep their kind; anything else is kept as text. Throws Error if the map cannot be
/// read.
DraftColumns read_draft_columns(const SurveyFile& file);

}  // namespace subcrop::io
SUBCROP_EXPORT_END
