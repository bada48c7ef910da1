// The keys of a survey file, each with what it means: what the reader accepts and what columns.txt tells.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace subcrop::io {

struct SurveyKey {
    std::string_view name, standard, meaning;  ///< `standard`: the value if the key is missing; empty: none
};

const std::vector<SurveyKey>& survey_keys();
const std::vector<SurveyKey>& settings_keys();

std::vector<std::string> names_of(const std::vector<SurveyKey>& keys);

}  // namespace subcrop::io
