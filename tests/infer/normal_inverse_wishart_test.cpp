#include "infer/statistics/normal_inverse_wishart.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <utility>

namespace subcrop::infer {
namespace {

// Model: Gelman et al. 2013, Bayesian Data Analysis, section 3.6. The figures below were worked apart from this code
// and agree with scipy 1.10.1's multivariate_t to 1e-14.
NormalInverseWishart prior() {
    NormalInverseWishart p;
    p.mean = Eigen::Vector2d(50, 15);
    p.mean_count = 1;
    p.degrees = 4;
    p.scatter = (Eigen::Matrix2d() << 50, 5, 5, 30).finished();
    return p;
}

Moments observed() {
    Moments moments(2);
    for (const auto& [x, y] : std::array<std::pair<double, double>, 5>{
             {{40.7, 14.4}, {41.2, 17.0}, {51.0, 18.8}, {46.1, 21.3}, {38.9, 12.5}}}) {
        moments.add(Eigen::Vector2d(x, y), 1);
    }
    return moments;
}

double log_density(const StudentT& t, double x, double y) {
    const Whitening shape(t.shape);
    const std::array<double, 2> place{x, y};
    return student_log_density(shape.squared_distance(place.data(), t.location.data()), t.degrees, shape);
}

TEST(NormalInverseWishart, PosteriorOfFiveObservations) {
    const NormalInverseWishart after = prior().updated(observed());
    EXPECT_NEAR(after.mean[0], 44.65, 1e-12);
    EXPECT_NEAR(after.mean[1], 16.5, 1e-12);
    EXPECT_DOUBLE_EQ(after.mean_count, 6);
    EXPECT_DOUBLE_EQ(after.degrees, 9);
    EXPECT_NEAR(after.scatter(0, 0), 181.615, 1e-9);
    EXPECT_NEAR(after.scatter(0, 1), 48.11, 1e-9);
    EXPECT_NEAR(after.scatter(1, 1), 81.24, 1e-9);
}

TEST(NormalInverseWishart, PredictiveIsAStudentT) {
    const StudentT t = prior().updated(observed()).predictive();
    EXPECT_DOUBLE_EQ(t.degrees, 8);
    EXPECT_NEAR(t.shape(0, 0), 26.485520833, 1e-8);
    EXPECT_NEAR(t.shape(0, 1), 7.016041667, 1e-8);
    EXPECT_NEAR(log_density(t, 43, 17), -4.7447061284, 1e-9);
    EXPECT_NEAR(log_density(t, 50, 15), -5.7088415651, 1e-9);
    EXPECT_NEAR(log_density(t, 30, 5), -9.6655728294, 1e-9);
    EXPECT_NEAR(log_density(t, 60, 30), -10.4826900746, 1e-9);
}

TEST(NormalInverseWishart, TakingAwayWhatWasAddedLeavesThePrior) {
    Moments moments = observed();
    moments -= observed();
    const NormalInverseWishart after = prior().updated(moments);
    EXPECT_EQ(after.mean, prior().mean);
    EXPECT_EQ(after.scatter, prior().scatter);
}

TEST(NormalInverseWishart, WeightedObservationsCountAsRepeats) {
    Moments once(2), twice(2);
    once.add(Eigen::Vector2d(1, 2), 2);
    twice.add(Eigen::Vector2d(1, 2), 1);
    twice.add(Eigen::Vector2d(1, 2), 1);
    EXPECT_TRUE(prior().updated(once).scatter.isApprox(prior().updated(twice).scatter, 1e-12));
}

}  // namespace
}  // namespace subcrop::infer
