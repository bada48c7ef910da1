#include "subcrop/model/column_names.hpp"

namespace subcrop::model {

std::string ColumnNames::of(std::string_view ours) const {
    std::string text;
    while (!ours.empty()) {
        const std::size_t comma = ours.find(", ");
        const std::string_view name = ours.substr(0, comma);
        ours.remove_prefix(comma == std::string_view::npos ? ours.size() : comma + 2);
        const auto found = theirs_.find(name);
        if (!text.empty()) text += ", ";
        text += found == theirs_.end() ? name : std::string_view(found->second);
    }
    return text;
}

}  // namespace subcrop::model
