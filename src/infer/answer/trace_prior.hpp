// What beds traced over the terrain say of the displacement: a Gaussian factor in the entries of v
// (infer/shift_field.hpp).
#pragma once

#include <Eigen/Core>
#include <span>

#include "infer/answer/displacement_basis.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/contact_traces.hpp"

namespace subcrop::infer {

/// With a the offsets the field gives along the normals of a contact's places, m those of the trace and P their
/// precision, the sum over contacts of (a - m)' P (a - m) / 2, as v' M v / 2 - b' v + constant.
class TracePrior {
public:
    TracePrior() = default;
    /// Places farther than `margin_m` from the box, which the nodes do not reach, are left out.
    TracePrior(std::span<const geo::ContactTrace> traces, const DisplacementBasis& basis, double amplitude_m,
               const Box& box, double margin_m);

    bool empty() const { return matrix_.size() == 0; }
    /// Value without its constant; adds its gradient.
    double value(const Eigen::VectorXd& v, Eigen::VectorXd& gradient) const;
    const Eigen::MatrixXd& matrix() const { return matrix_; }
    /// ln of how much more probable the traces are where the draft is displaced by the field than where it is right.
    double evidence() const;

private:
    Eigen::MatrixXd matrix_;
    Eigen::VectorXd vector_;
};

}  // namespace subcrop::infer
