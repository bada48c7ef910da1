// Places as keys of tables: equal to the last bit, or another place.
#pragma once

#include <cstddef>
#include <functional>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::geo {

struct PointHash {
    std::size_t operator()(Point p) const {
        return std::hash<double>()(p.x) * 0x9e3779b97f4a7c15ull ^ std::hash<double>()(p.y);
    }
};

}  // namespace subcrop::geo
SUBCROP_EXPORT_END
