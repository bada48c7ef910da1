// The normal-inverse-Wishart model of a unit's values: conjugate, so few stops change it a little and many stops a lot.
// Gelman et al. 2013, Bayesian Data Analysis, 3rd edition, section 3.6.
#pragma once

#include <Eigen/Core>
#include <cstddef>

namespace subcrop::infer {

/// Weighted count, sum and sum of squares of observations, about the origin.
struct Moments {
    double count = 0;
    Eigen::VectorXd sum;
    Eigen::MatrixXd square;

    explicit Moments(std::size_t dimensions);
    void add(const Eigen::VectorXd& x, double weight);
    Moments& operator-=(const Moments& other);
    Eigen::MatrixXd scatter() const;  ///< about their mean
};

/// Multivariate Student t.
struct StudentT {
    Eigen::VectorXd location;
    Eigen::MatrixXd shape;
    double degrees = 1;
};

struct NormalInverseWishart {
    Eigen::VectorXd mean;
    double mean_count = 1;    ///< kappa: weight of the mean, in observations
    double degrees = 1;       ///< nu
    Eigen::MatrixXd scatter;  ///< Lambda

    NormalInverseWishart updated(const Moments& observed) const;
    StudentT predictive() const;
};

/// A covariance's Cholesky factor, inverted, for repeated distances.
struct Whitening {
    Eigen::MatrixXd inverse_root;  ///< L^-1 with L L' the covariance
    double log_root_determinant = 0;

    explicit Whitening(const Eigen::MatrixXd& covariance);
    /// (a - b)' covariance^-1 (a - b)
    double squared_distance(const double* a, const double* b) const;
};

/// ln density of a Student t at squared distance q, its shape whitened.
double student_log_density(double squared_distance, double degrees, const Whitening& shape);

}  // namespace subcrop::infer
