// Weighted mean and covariance in ilr coordinates.
#pragma once

#include <array>

#include "subcrop/field/texture.hpp"

namespace subcrop::field {

class IlrMoments {
public:
    /// `own` is the covariance about the point, if the point represents a cloud.
    void add(const std::array<double, 2>& y, double weight, const std::array<double, 3>& own = {}) {
        weight_ += weight;
        first_[0] += weight * y[0];
        first_[1] += weight * y[1];
        second_[0] += weight * (y[0] * y[0] + own[0]);
        second_[1] += weight * (y[0] * y[1] + own[1]);
        second_[2] += weight * (y[1] * y[1] + own[2]);
    }
    IlrDistribution distribution() const {
        const double m1 = first_[0] / weight_;
        const double m2 = first_[1] / weight_;
        return {{m1, m2},
                {second_[0] / weight_ - m1 * m1, second_[1] / weight_ - m1 * m2, second_[2] / weight_ - m2 * m2}};
    }

private:
    double weight_ = 0;
    std::array<double, 2> first_{};
    std::array<double, 3> second_{};
};

}  // namespace subcrop::field
