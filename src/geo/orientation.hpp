// On which side of a line a point lies, without rounding: a wrong sign here would put a whole cell of the grid into the
// wrong polygon.
#pragma once

#include <cmath>

#include "subcrop/core/geometry.hpp"

namespace subcrop::geo {

/// Exact sign of the cross product (b - a) x (p - a) by error-free sums of products. Slow; see `orientation`.
int exact_orientation(Point a, Point b, Point p);

/// 1: p lies to the left of a -> b, -1: to the right, 0: exactly on the line. The error bound of the quick answer is
/// that of Shewchuk (1997), Adaptive precision floating-point arithmetic and fast robust geometric predicates,
/// section 4.3.
inline int orientation(Point a, Point b, Point p) {
    const double left = (a.x - p.x) * (b.y - p.y);
    const double right = (a.y - p.y) * (b.x - p.x);
    const double determinant = left - right;
    constexpr double bound = 3.3306690738754716e-16;
    if (std::abs(determinant) > bound * (std::abs(left) + std::abs(right))) return determinant > 0 ? 1 : -1;
    return exact_orientation(a, b, p);
}

}  // namespace subcrop::geo
