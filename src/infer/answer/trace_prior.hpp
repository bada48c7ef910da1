// The evidence of beds traced over the terrain on the displacement: a Gaussian factor in the entries of v
// (infer/shift_field.hpp).
#pragma once

#include <Eigen/Core>
#include <span>

#include "infer/answer/displacement_basis.hpp"
#include "subcrop/core/geometry.hpp"
#include "subcrop/geo/contact_traces.hpp"

namespace subcrop::infer {

/// a: offsets by the field, along the normals at places of a contact. m: offsets by the trace, P: their precision. The
/// sum over contacts of (a - m)' P (a - m) / 2 is stored as v' M v / 2 - b' v + constant.
class TracePrior {
public:
    TracePrior() = default;
    /// Places farther than `margin_m` from the box are left out, because the nodes do not reach them.
    TracePrior(std::span<const geo::ContactTrace> traces, const DisplacementBasis& basis, double amplitude_m,
               const Box& box, double margin_m);

    bool empty() const { return matrix_.size() == 0; }
    /// Value without the constant; adds its gradient.
    double value(const Eigen::VectorXd& v, Eigen::VectorXd& gradient) const;
    const Eigen::MatrixXd& matrix() const { return matrix_; }
    /// ln likelihood ratio of the traces: the draft displaced by the field against the draft as drawn.
    double evidence() const;

private:
    Eigen::MatrixXd matrix_;
    Eigen::VectorXd vector_;
};

}  // namespace subcrop::infer
