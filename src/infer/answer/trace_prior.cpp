#include "infer/answer/trace_prior.hpp"

#include <Eigen/Cholesky>
#include <vector>

namespace subcrop::infer {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

TracePrior::TracePrior(std::span<const geo::ContactTrace> traces, const DisplacementBasis& basis, double amplitude_m,
                       const Box& box, double margin_m) {
    if (traces.empty()) return;
    const auto nodes = static_cast<Index>(basis.size());
    matrix_ = MatrixXd::Zero(2 * nodes, 2 * nodes);
    vector_ = VectorXd::Zero(2 * nodes);
    const Box reached{box.min_x - margin_m, box.min_y - margin_m, box.max_x + margin_m, box.max_y + margin_m};
    std::vector<DisplacementBasis::Term> terms;
    for (const geo::ContactTrace& trace : traces) {
        const auto count = static_cast<Index>(trace.places.size());
        MatrixXd offsets = MatrixXd::Zero(count, 2 * nodes);
        VectorXd measured(count);
        bool inside = true;
        for (Index i = 0; i < count; ++i) {
            const auto k = static_cast<std::size_t>(i);
            inside = inside && reached.contains(trace.places[k]);
            basis.at(trace.places[k], terms);
            for (const auto& term : terms) {
                offsets(i, term.node) = amplitude_m * term.value * trace.normals[k].x;
                offsets(i, nodes + term.node) = amplitude_m * term.value * trace.normals[k].y;
            }
            measured[i] = trace.offsets_m[k];
        }
        if (!inside) continue;
        const Eigen::Map<const MatrixXd> precision(trace.precision.data(), count, count);
        const MatrixXd weighted = offsets.transpose() * precision;
        matrix_.noalias() += weighted * offsets;
        vector_.noalias() += weighted * measured;
    }
}

double TracePrior::value(const VectorXd& v, VectorXd& gradient) const {
    if (empty()) return 0;
    const VectorXd product = matrix_ * v;
    gradient += product - vector_;
    return 0.5 * v.dot(product) - vector_.dot(v);
}

double TracePrior::evidence() const {
    if (empty()) return 0;
    const Eigen::LLT<MatrixXd> posterior(matrix_ + MatrixXd::Identity(matrix_.rows(), matrix_.cols()));
    return 0.5 * vector_.dot(posterior.solve(vector_)) - posterior.matrixLLT().diagonal().array().log().sum();
}

}  // namespace subcrop::infer
