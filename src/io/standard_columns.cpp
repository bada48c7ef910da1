#include "io/standard_columns.hpp"

#include "subcrop/field/parent_material.hpp"

namespace subcrop::io {

const std::vector<std::string>& stop_columns() {
    static const std::vector<std::string> names = {"stop",      "traverse",  "seq",    "date",
                                                   "position_sd_m", "landform", "slope_deg", "unit_seen",
                                                   "plants",    "plants_complete", "notes"};
    return names;
}

const std::vector<std::string>& horizon_columns() {
    static const std::vector<std::string> names = {
        "top_cm",      "bottom_cm",   "designation",   "colour_moist",  "colour_dry",     "texture",
        "sand_pct",    "silt_pct",    "clay_pct",      "jar_sand_mm",   "jar_silt_mm",    "jar_clay_mm",
        "fragments_pct", "fragment_kind", "fragment_shape", "effervescence", "minerals",  "redox",
        "ph"};
    return names;
}

const std::vector<std::string>& map_columns() {
    static const std::vector<std::string> names = {"unit"};
    return names;
}

const std::vector<std::string>& legend_columns() {
    static const std::vector<std::string> names = {
        "unit",  "name",  "age_order", "lithology", "colour", "cover", "expected_colours", "expected_textures",
        "expected_plants", "expected_reactions", "expected_worth_stops"};
    return names;
}

const std::vector<std::string>& plant_columns() {
    static const std::vector<std::string> names = {"written", "taxon"};
    return names;
}

const std::vector<std::string>& parent_material_columns() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> columns = {"cue", "word"};
        for (std::size_t k = 0; k < field::parent_material_count; ++k) {
            columns.emplace_back(field::to_string(static_cast<field::ParentMaterial>(k)));
        }
        return columns;
    }();
    return names;
}

}  // namespace subcrop::io
