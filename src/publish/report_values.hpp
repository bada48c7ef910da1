// Single values as the report page's data hold them.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "subcrop/core/text.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

using Json = nlohmann::ordered_json;

/// A whole number where none of its decimals is left.
Json rounded(double value, int decimals);
Json rounded(const std::optional<double>& value, int decimals);  ///< null where absent

/// A Munsell notation's colour as #rrggbb; of a range the mean of its ends; empty where it is not one.
std::string swatch(const std::string& notation);

Json unit_or_null(model::UnitIndex unit);

/// Leaves out what is absent: most fields of most stops are.
void put(Json& object, const char* key, const std::string& text);
void put(Json& object, const char* key, Text text);
void put(Json& object, const char* key, model::UnitIndex unit);

}  // namespace subcrop::publish
