#include "io/standard_columns.hpp"

#include "io/book_columns.hpp"
#include "subcrop/field/parent_material.hpp"

namespace subcrop::io {

namespace {

std::vector<std::string> names_of(const std::vector<BookColumn>& book) {
    std::vector<std::string> names;
    for (const BookColumn& column : book) names.push_back(column.name);
    return names;
}

}  // namespace

const std::vector<std::string>& stop_columns() {
    static const std::vector<std::string> names = names_of(stop_book());
    return names;
}

const std::vector<std::string>& horizon_columns() {
    static const std::vector<std::string> names = names_of(horizon_book());
    return names;
}

const std::vector<std::string>& map_columns() {
    static const std::vector<std::string> names = names_of(map_book());
    return names;
}

const std::vector<std::string>& legend_columns() {
    static const std::vector<std::string> names = names_of(legend_book());
    return names;
}

const std::vector<std::string>& borehole_columns() {
    static const std::vector<std::string> names = names_of(borehole_book());
    return names;
}

const std::vector<std::string>& attitude_columns() {
    static const std::vector<std::string> names = names_of(attitude_book());
    return names;
}

const std::vector<std::string>& plant_columns() {
    static const std::vector<std::string> names = {"written", "taxon"};
    return names;
}

const std::vector<std::string>& kind_columns() {
    static const std::vector<std::string> names{"kind", "written", "meant"};
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
