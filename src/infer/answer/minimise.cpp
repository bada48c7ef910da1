#include "infer/answer/minimise.hpp"

#include <cmath>
#include <deque>

namespace subcrop::infer {

using Eigen::VectorXd;

Minimum minimise(const std::function<double(const VectorXd&, VectorXd&)>& function, VectorXd& x, int max_steps) {
    struct Pair {
        VectorXd s, y;
        double rho;
    };
    constexpr std::size_t memory = 10;
    std::deque<Pair> pairs;
    VectorXd gradient;
    Minimum result;
    result.value = function(x, gradient);
    for (; result.steps < max_steps; ++result.steps) {
        VectorXd direction = gradient;
        std::vector<double> alphas;
        for (auto pair = pairs.rbegin(); pair != pairs.rend(); ++pair) {
            alphas.push_back(pair->rho * pair->s.dot(direction));
            direction -= alphas.back() * pair->y;
        }
        if (!pairs.empty()) direction *= pairs.back().s.dot(pairs.back().y) / pairs.back().y.squaredNorm();
        auto alpha = alphas.rbegin();
        for (const Pair& pair : pairs) direction += (*alpha++ - pair.rho * pair.y.dot(direction)) * pair.s;
        direction = -direction;
        double slope = gradient.dot(direction);
        if (slope >= 0) {
            pairs.clear();
            direction = -gradient;
            slope = -gradient.squaredNorm();
        }
        result.settled = slope > -1e-10;
        if (result.settled) return result;
        double length = pairs.empty() ? std::min(1.0, 1 / gradient.norm()) : 1;
        VectorXd trial, trial_gradient;
        double trial_value = 0;
        int tries = 0;
        for (; tries < 25; ++tries, length /= 2) {
            trial = x + length * direction;
            trial_value = function(trial, trial_gradient);
            if (trial_value <= result.value + 1e-4 * length * slope) break;
        }
        if (tries == 25) return result;
        Pair pair{trial - x, trial_gradient - gradient, 0};
        const double curvature = pair.s.dot(pair.y);
        const double gain = result.value - trial_value;
        if (curvature > 1e-12) {
            pair.rho = 1 / curvature;
            pairs.push_back(std::move(pair));
            if (pairs.size() > memory) pairs.pop_front();
        }
        x = trial;
        gradient = trial_gradient;
        result.value = trial_value;
        result.settled = gain < 1e-6 * (1 + std::abs(result.value));
        if (result.settled) return result;
    }
    return result;
}

}  // namespace subcrop::infer
