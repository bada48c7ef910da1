// Places as keys of tables: equal to the last bit, or another place.
#pragma once

#include <cstddef>
#include <functional>

#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

struct PointHash {
    std::size_t operator()(Point p) const {
        return std::hash<double>()(p.x) * 0x9e3779b97f4a7c15ull ^ std::hash<double>()(p.y);
    }
};

}  // namespace subcrop::geo
