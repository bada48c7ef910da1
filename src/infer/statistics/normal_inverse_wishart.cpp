#include "infer/statistics/normal_inverse_wishart.hpp"

#include <math.h>  // lgamma_r is not guaranteed in <cmath>

#include <Eigen/Cholesky>
#include <cmath>
#include <numbers>

namespace subcrop::infer {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

Moments::Moments(std::size_t dimensions)
    : sum(VectorXd::Zero(static_cast<Index>(dimensions))),
      square(MatrixXd::Zero(static_cast<Index>(dimensions), static_cast<Index>(dimensions))) {}

void Moments::add(const VectorXd& x, double weight) {
    count += weight;
    sum += weight * x;
    square += weight * x * x.transpose();
}

Moments& Moments::operator-=(const Moments& other) {
    count -= other.count;
    sum -= other.sum;
    square -= other.square;
    return *this;
}

MatrixXd Moments::scatter() const {
    if (count <= 0) return MatrixXd::Zero(square.rows(), square.cols());
    return square - sum * sum.transpose() / count;
}

NormalInverseWishart NormalInverseWishart::updated(const Moments& observed) const {
    constexpr double nothing = 1e-9;  // rounding error of a count that was removed again
    if (observed.count <= nothing) return *this;
    NormalInverseWishart after;
    after.mean_count = mean_count + observed.count;
    after.degrees = degrees + observed.count;
    after.mean = (mean_count * mean + observed.sum) / after.mean_count;
    const VectorXd away = observed.sum / observed.count - mean;
    after.scatter =
        scatter + observed.scatter() + mean_count * observed.count / after.mean_count * away * away.transpose();
    return after;
}

StudentT NormalInverseWishart::predictive() const {
    const double df = degrees - static_cast<double>(mean.size()) + 1;
    return {mean, scatter * ((mean_count + 1) / (mean_count * df)), df};
}

Whitening::Whitening(const MatrixXd& covariance) {
    const Eigen::LLT<MatrixXd> root(covariance);
    const MatrixXd lower = root.matrixL();
    inverse_root = lower.triangularView<Eigen::Lower>().solve(MatrixXd::Identity(covariance.rows(), covariance.cols()));
    log_root_determinant = lower.diagonal().array().log().sum();
}

double Whitening::squared_distance(const double* a, const double* b) const {
    double sum = 0;
    for (Index i = 0; i < inverse_root.rows(); ++i) {
        double z = 0;
        for (Index j = 0; j <= i; ++j) z += inverse_root(i, j) * (a[j] - b[j]);
        sum += z * z;
    }
    return sum;
}

namespace {

/// Not std::lgamma, which stores the sign in a variable common to all threads.
double log_gamma(double x) {
    int sign = 0;
    return ::lgamma_r(x, &sign);
}

}  // namespace

double student_log_density(double squared_distance, double degrees, const Whitening& shape) {
    const double d = static_cast<double>(shape.inverse_root.rows());
    return log_gamma((degrees + d) / 2) - log_gamma(degrees / 2) - d / 2 * std::log(degrees * std::numbers::pi) -
           shape.log_root_determinant - (degrees + d) / 2 * std::log1p(squared_distance / degrees);
}

}  // namespace subcrop::infer
