// Minimisation of smooth functions.
#pragma once

#include <Eigen/Core>
#include <functional>

namespace subcrop::infer {

/// How a search ended. `settled` is false if it reached its step limit, or if no step lowered the value.
struct Minimum {
    double value = 0;
    int steps = 0;
    bool settled = false;
};

/// Minimises by limited-memory BFGS (Nocedal and Wright 2006, Numerical Optimization, algorithms 7.4 and 7.5) with a
/// backtracking line search. Starts from `x` and writes the result to it. `function(x, gradient)` returns the value.
Minimum minimise(const std::function<double(const Eigen::VectorXd&, Eigen::VectorXd&)>& function, Eigen::VectorXd& x,
                 int max_steps);

}  // namespace subcrop::infer
