// The columns of the unit summary: one list for the layer `unit_summary` and for units.csv.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

using UnitValue = std::variant<std::monostate, std::string, std::int64_t, double>;

struct UnitColumn {
    io::FieldDefinition field;
    UnitValue (*value)(const model::Survey&, const infer::UnitSummary&);
};

const std::vector<UnitColumn>& unit_columns();

/// units.csv: UTF-8, commas, one row a unit, no geometry. It is put in place with the others.
void write_unit_table(const std::filesystem::path& target, const model::Survey& survey,
                      const std::vector<infer::UnitSummary>& units, io::PendingFiles& together);

}  // namespace subcrop::publish
