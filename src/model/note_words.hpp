// Single words of a field book brought to one spelling.
#pragma once

#include <string>
#include <string_view>

namespace subcrop::model {

/// For a note that cannot be read because its words are the user's own.
inline constexpr std::string_view own_words_remedy = "Words of your own are explained in the table of the key 'names'.";

/// Lower case, trimmed, single spaces.
std::string tidy_words(std::string_view text);

}  // namespace subcrop::model
