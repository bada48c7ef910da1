// Single words of a field book brought to one spelling.
#pragma once

#include <string>
#include <string_view>

namespace subcrop::model {

/// Lower case, trimmed, single spaces.
std::string tidy_words(std::string_view text);

}  // namespace subcrop::model
