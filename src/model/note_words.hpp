// Single words of a field book brought to one spelling.
#pragma once

#include <string>
#include <string_view>

#include "subcrop/core/parsed.hpp"

namespace subcrop::model {

/// Lower case, trimmed, single spaces.
std::string tidy_words(std::string_view text);

/// Reaction to dilute hydrochloric acid: NE (none), VS (very slight: few bubbles), SL (slight), ST (strong: low foam) or VE
/// (violent: thick foam), from the code or from words. Classes as in the Soil Survey Manual; codes from memory.
Parsed<std::string> read_effervescence(std::string_view text);

}  // namespace subcrop::model
