// The result of reading a written note: a value, or the reason why there is none. A value may have a remark on how it
// was read.
#pragma once

#include <optional>
#include <string>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// `value` with an empty `message`: read as written. `value` and `message`: read, but worth a note ("read as 7.5YR
/// 4/4"). No `value`: `message` says what is wrong and `remedy` how to correct it. Messages are sentences without a
/// full stop, remedies with one.
template <class T>
struct Parsed {
    std::optional<T> value;
    std::string message;
    std::string remedy;

    explicit operator bool() const { return value.has_value(); }
};

}  // namespace subcrop
SUBCROP_EXPORT_END
