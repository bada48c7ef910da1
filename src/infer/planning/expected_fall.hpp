// By how much one more stop is expected to reduce the area that the map shows wrong.
//
// The answer (answer.hpp) is asked on a square lattice. At a cell i whose two most probable units are a and b, q_i is
// the probability of b of the two. A visit at i names the right one with probability r. Two cells a distance d apart
// share their fate with probability rho = exp(-d^2 / 2 l^2): one uniform number decides both, b where it is below q.
// Otherwise they are independent. So, if b lies below i,
//     q_j given b = (1 - rho) q_j + rho min(1, q_j / q_i)
//     q_j given a = (1 - rho) q_j + rho max(0, (q_j - q_i) / (1 - q_i))
// and the fall at j is min(q_j, 1 - q_j) less its expected value after the visit (ours; from Bayes' rule).
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "infer/planning/discernment.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::infer {

class ExpectedFall {
public:
    /// Fills the probability of each unit at a place, as `Answer::at` does. Called by several threads at once.
    using Ask = std::function<void(Point place, std::span<float> probability)>;
    /// `cell_m`: side of a cell, widened to keep to 60,000 cells. `length_m`: l above. `told` must outlive it.
    ExpectedFall(const geo::UnitMap& map, const Ask& ask, const Discernments& told, double cell_m, double length_m,
                 unsigned threads);

    struct Cell {
        Point place;
        model::UnitIndex unit = model::no_unit;   ///< the most probable one
        model::UnitIndex other = model::no_unit;  ///< the second
        float p_unit = 0, p_other = 0;
        float left = 1;  ///< of what is uncertain here, after the visits planned so far
        std::uint32_t column = 0, row = 0;
    };
    /// Those that are uncertain, in the order of their place.
    const std::vector<Cell>& cells() const { return cells_; }
    double cell_m() const { return cell_m_; }

    /// Expected fall of the wrong area by a visit at a cell, square metres, counting the visits planned so far.
    double fall_m2(std::size_t cell) const;
    /// Plans a visit at a cell: what is left to gain around it becomes less.
    void plan(std::size_t cell);
    /// Farther from a planned visit nothing changes.
    double reach_m() const { return reach_in_lengths * length_m_; }

private:
    static constexpr double reach_in_lengths = 2.5;

    template <class Visit>
    void each_affected(std::size_t cell, const Visit& visit) const;

    const Discernments& told_;
    double cell_m_, length_m_;
    std::size_t columns_ = 0, rows_ = 0;
    std::vector<Cell> cells_;
    std::vector<std::uint32_t> at_;  ///< of each lattice place the cell, or none
};

}  // namespace subcrop::infer
