// Disjoint sets, joined two at a time (union-find).
//
//     Together areas(4);
//     areas.join(3, 1);
//     std::size_t name = areas.name(3);  // 1
//
// Cost: nearly constant for each call.
#pragma once

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// Disjoint sets, each named by its smallest member.
class Together {
public:
    explicit Together(std::size_t count) : of_(count) { std::iota(of_.begin(), of_.end(), std::size_t{0}); }
    std::size_t name(std::size_t i) {
        while (of_[i] != i) i = of_[i] = of_[of_[i]];
        return i;
    }
    void join(std::size_t a, std::size_t b) {
        a = name(a);
        b = name(b);
        if (a != b) of_[std::max(a, b)] = std::min(a, b);
    }

private:
    std::vector<std::size_t> of_;
};

}  // namespace subcrop
SUBCROP_EXPORT_END
