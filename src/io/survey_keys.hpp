// The keys of a survey file, each with what it means: what the reader accepts and what columns.txt tells.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "io/text_values.hpp"

namespace subcrop::io {

struct SurveyKey {
    std::string_view name, standard, meaning;  ///< `standard`: the value if the key is missing; empty: none
};

const std::vector<SurveyKey>& survey_keys();
/// Of a table; not every table takes all of them.
const std::vector<SurveyKey>& source_keys();
const std::vector<SurveyKey>& settings_keys();

/// A key of a table that states the unit of some of its columns.
struct UnitKey {
    std::string_view key;
    std::vector<std::string> columns;  ///< ours
    std::vector<std::string> units;    ///< it may be

    /// How it calls a unit.
    std::string word_for(Unit unit) const;
};
const std::vector<UnitKey>& unit_keys();
/// The key for one of our columns; null: its unit cannot be stated.
const UnitKey* unit_key_of(std::string_view our_column);

std::vector<std::string> names_of(const std::vector<SurveyKey>& keys);

}  // namespace subcrop::io
