// Gaussian bumps on a square lattice of nodes, scaled so that their squares add up to one everywhere.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "subcrop/core/geometry.hpp"

namespace subcrop::infer {

class DisplacementBasis {
public:
    struct Term {
        std::uint32_t node;
        double value;
        Point gradient;  ///< per metre
    };

    DisplacementBasis() = default;
    /// Nodes 0.75 `reach_m` apart over the box and one reach beyond it.
    DisplacementBasis(const Box& box, double reach_m);

    std::size_t size() const { return static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_); }
    /// The bumps that matter at a place.
    void at(Point place, std::vector<Term>& terms) const;

private:
    double west_ = 0, south_ = 0, spacing_ = 1, width_ = 1;
    std::int64_t columns_ = 0, rows_ = 0;
};

}  // namespace subcrop::infer
