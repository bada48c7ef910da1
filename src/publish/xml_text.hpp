// Text that is safe in XML and HTML.
#pragma once

#include <string>
#include <string_view>

namespace subcrop::publish {

/// Text in XML 1.0. A character not allowed in XML becomes U+FFFD: control characters, U+FFFE, U+FFFF (section 2.2).
std::string escaped(std::string_view text);

}  // namespace subcrop::publish
