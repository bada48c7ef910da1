// Gaussian bumps on square lattices of nodes, scaled so that their squares sum to one everywhere. They express a
// displacement of reach H, or the sum of two with reach H and 2 H.
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
    /// Nodes are 0.75 reaches apart, over the box and one reach around it. `longer_share`: share of the variance with
    /// twice the reach.
    DisplacementBasis(const Box& box, double reach_m, double longer_share);

    std::size_t size() const { return lattices_.empty() ? 0 : lattices_.back().first + lattices_.back().size(); }
    /// The bumps that are not negligible at a place.
    void at(Point place, std::vector<Term>& terms) const;

private:
    struct Lattice {
        double share, west, south, spacing, width;
        std::int64_t columns, rows;
        std::size_t first;  ///< number of its first node

        Lattice(const Box& box, double reach_m, double variance_share, std::size_t first_node);
        std::size_t size() const { return static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows); }
        /// Appends its bumps, the sum of whose squares is `share`.
        void add(Point place, std::vector<Term>& terms) const;
    };
    std::vector<Lattice> lattices_;
};

}  // namespace subcrop::infer
