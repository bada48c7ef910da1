#include "io/user_tables.hpp"

#include <algorithm>
#include <array>

#include "io/nearest_name.hpp"
#include "io/standard_columns.hpp"
#include "io/table.hpp"

namespace subcrop::io {

field::PlantNames read_plant_names(const SurveyFile& file, ProblemLog& problems) {
    Table table(open_layer(file, *file.plants), *file.plants, "plants", problems);
    const Column written = table.require("written"), taxon = table.require("taxon");
    table.report_near_misses(plant_columns());
    field::PlantNames names;
    while (table.next()) {
        const std::string from(table.text(written));
        const std::string message = names.add(from, table.text(taxon));
        if (message.empty()) continue;
        table.report(Severity::warning, written, from, message + "; the row is left out",
                     "Write one name as in the notes, and the one taxon that is meant, or none if it is no plant.");
    }
    return names;
}

field::KindNames read_kind_names(const SurveyFile& file, ProblemLog& problems) {
    Table table(open_layer(file, *file.names), *file.names, "names", problems);
    const Column kind = table.require("kind"), meant = table.require("meant");
    Column written = table.require("written");
    written.keeps_dash = true;  // '-' may be her mark for no reaction
    table.report_near_misses(kind_columns());
    field::KindNames names;
    while (table.next()) {
        const std::string of(table.text(kind)), from(table.text(written));
        const std::string message = names.add(of, from, table.text(meant));
        if (message.empty()) continue;
        const bool of_plant = message.starts_with("plants");
        const bool of_kind = of_plant || message.find("kind") != std::string::npos;
        const bool of_meaning = !of_kind && message.find(" stands in the table ") == std::string::npos;
        table.report(Severity::warning,
                     of_kind      ? kind
                     : of_meaning ? meant
                                  : written,
                     of_plant ? of : of + ", " + from, message + "; the row is left out",
                     of_plant ? "Name it under 'plants', by 'written' and 'taxon'."
                              : "Write rock, mineral, landform, texture, reaction or mottles; then the words as in the "
                                "notes, and what they mean.");
    }
    return names;
}

field::ParentMaterialTable read_parent_material_weights(const SurveyFile& file, ProblemLog& problems) {
    Table table(open_layer(file, *file.parent_material_weights), *file.parent_material_weights,
                "parent_material_weights", problems);
    const Column cue = table.require("cue"), word = table.find("word");
    std::array<Column, field::parent_material_count> kinds;
    for (std::size_t k = 0; k < kinds.size(); ++k) {
        kinds[k] = table.find(std::string(field::to_string(static_cast<field::ParentMaterial>(k))));
    }
    table.report_near_misses(parent_material_columns());
    field::ParentMaterialTable weights;
    while (table.next()) {
        const std::string of(table.text(cue)), said(table.text(word));
        field::ParentMaterialShares row{};
        for (std::size_t k = 0; k < kinds.size(); ++k) row[k] = table.number(kinds[k], {}).value_or(1.0);
        const std::string message = weights.set(of, said, row);
        if (message.empty()) continue;
        const auto& cues = field::ParentMaterialTable::cues();
        const std::string known = lower(of);
        const bool cue_known = std::find(cues.begin(), cues.end(), known) != cues.end();
        const std::vector<std::string> fixed = field::ParentMaterialTable::fixed_words(known);
        std::string remedy = "Weights are above 0; 1 says nothing.";
        if (!cue_known)
            remedy = did_you_mean(of, cues) + "Cues: " + listed(cues) + ".";
        else if (!fixed.empty() && message.find("has no") != std::string::npos)
            remedy = "It has: " + listed(fixed) + ".";
        table.report(Severity::warning, cue, said.empty() ? of : of + ", " + said, message + "; the row is left out",
                     remedy);
    }
    return weights;
}

}  // namespace subcrop::io
