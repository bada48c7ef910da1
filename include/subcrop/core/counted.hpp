// A count in words: "1 stop", "12 stops".
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

inline std::string counted(std::size_t count, std::string_view one, std::string_view many) {
    return std::to_string(count) + ' ' + std::string(count == 1 ? one : many);
}

}  // namespace subcrop
SUBCROP_EXPORT_END
