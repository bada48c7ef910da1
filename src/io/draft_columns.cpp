#include "io/draft_columns.hpp"

#include <utility>

#include "io/table.hpp"

namespace subcrop::io {

DraftColumns read_draft_columns(const SurveyFile& file) {
    ProblemLog unheard;  // reported when the map was read before
    const MapDescription& description = *file.map;
    Table table(open_layer(file, description), description, "map", unheard);
    DraftColumns result;
    result.unit_column = table.require("unit").name;
    std::vector<Column> columns;
    for (const std::string& name : table.column_names()) {
        Column column = table.find_theirs(name, "columns");
        if (column.index == Column::feature_id) continue;
        FieldDefinition field{.name = column.name, .type = FieldType::text, .description = "As in the draft."};
        if (column.type == OFTInteger || column.type == OFTInteger64) field.type = FieldType::integer;
        if (column.type == OFTReal) field.type = FieldType::real;
        result.columns.push_back(std::move(field));
        columns.push_back(std::move(column));
    }
    while (table.next()) {
        std::vector<DraftCell>& cells = result.rows[table.row()];
        cells.resize(columns.size());
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (!table.has(columns[i])) continue;
            if (result.columns[i].type == FieldType::text) {
                cells[i] = std::string(table.text(columns[i]));
                continue;
            }
            const std::optional<double> value = table.number(columns[i], {});
            if (!value) continue;
            result.columns[i].type == FieldType::real ? cells[i] = *value
                                                      : cells[i] = static_cast<std::int64_t>(*value);
        }
    }
    return result;
}

}  // namespace subcrop::io
