// The page itself, made when building from src/publish/page and the libraries it embeds.
#pragma once

#include <string_view>

namespace subcrop::publish {

std::string_view page_before_data();
std::string_view page_after_data();

}  // namespace subcrop::publish
