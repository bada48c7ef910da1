// The program's own words, defined once for `--help`, the report page and the manual.
#pragma once

#include <span>
#include <string_view>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

struct Term {
    std::string_view word, meaning;
};

/// At most 25 terms, in alphabetical order.
std::span<const Term> glossary();

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
