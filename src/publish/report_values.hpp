// Single values in the report page's data.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "subcrop/core/text.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::publish {

using Json = nlohmann::ordered_json;

/// A whole number if no decimals are left.
Json rounded(double value, int decimals);
Json rounded(const std::optional<double>& value, int decimals);  ///< null if absent

/// A Munsell notation's colour as #rrggbb; for a range the mean of its ends; empty if it is no Munsell notation.
std::string swatch(const std::string& notation);

Json unit_or_null(model::UnitIndex unit);

/// Leaves out absent values; most fields of most stops are absent.
void put(Json& object, const char* key, const std::string& text);
void put(Json& object, const char* key, Text text);
void put(Json& object, const char* key, model::UnitIndex unit);

}  // namespace subcrop::publish
