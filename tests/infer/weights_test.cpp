#include "subcrop/infer/weights.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace subcrop::infer {
namespace {

constexpr std::size_t unit_count = 3;

/// A channel whose log likelihood ratios are `truth` times what the drawn evidence deserves; `truth` 0 is noise.
Signature channel_of(const Judges& judges, double overstated, bool informative, unsigned seed) {
    std::mt19937 engine(seed);
    std::normal_distribution<double> normal;
    Signature s;
    s.units = unit_count;
    for (std::size_t j = 0; j < judges.size(); ++j) {
        // x is normal about 1.5 in the own unit's direction; log density of unit u: -(x_u - 1.5)^2/2 + x_u^2/2
        s.row_of_stop.push_back(static_cast<std::uint32_t>(j));
        s.average.push_back(0);
        for (std::size_t u = 0; u < unit_count; ++u) {
            const double x = normal(engine) + (informative && judges[j] == static_cast<int>(u) ? 1.5 : 0.0);
            s.relative.push_back(static_cast<float>(overstated * 1.5 * x));
        }
    }
    return s;
}

Judges judges_of(std::size_t n) {
    Judges judges;
    for (std::size_t j = 0; j < n; ++j) judges.push_back(static_cast<int>(j % unit_count));
    return judges;
}

const std::vector<double> even(unit_count, std::log(1.0 / 3));

TEST(Weights, FindsTheWeightThatUndoesOverstatement) {
    const Judges judges = judges_of(6000);
    const std::vector<Signature> signatures{channel_of(judges, 2, true, 1), channel_of(judges, 1, false, 2)};
    const ChannelWeights w = learn_weights(signatures, judges, even);
    EXPECT_NEAR(w.weights[0], 0.5, 0.03);   // evidence stated twice over
    EXPECT_NEAR(w.weights[1], 0.0, 0.02);   // noise
    EXPECT_LT(w.log_loss, 0.75);
    EXPECT_NEAR(w.share_log_loss, std::log(3.0), 1e-9);
    EXPECT_GT(w.accuracy, 0.6);
}

TEST(Weights, FewJudgesLeaveThePrior) {
    const Judges judges = judges_of(6);
    const ChannelWeights w = learn_weights({channel_of(judges, 2, true, 3)}, judges, even);
    EXPECT_NEAR(w.weights[0], 0.35, 0.12);
}

TEST(Weights, NoJudgesIsThePriorItself) {
    const Judges judges(10, model::no_unit);
    const ChannelWeights w = learn_weights({channel_of(judges_of(10), 1, true, 4)}, judges, even);
    EXPECT_EQ(w.weights, std::vector<double>{0.35});
    EXPECT_EQ(w.judges, 0u);
}

TEST(Weights, TheSameChannelTwiceCountsOnce) {
    const Judges judges = judges_of(6000);
    const Signature s = channel_of(judges, 1, true, 5);
    const ChannelWeights w = learn_weights({s, s}, judges, even);
    EXPECT_NEAR(w.weights[0] + w.weights[1], 1.0, 0.06);
    EXPECT_NEAR(w.weights[0], w.weights[1], 1e-6);
}

TEST(Weights, NeverLeaveTheirBounds) {
    const Judges judges = judges_of(3000);
    const ChannelWeights w = learn_weights({channel_of(judges, 0.2, true, 6), channel_of(judges, 1, false, 7)}, judges, even);
    for (const double weight : w.weights) {
        EXPECT_GE(weight, 0);
        EXPECT_LE(weight, 1);
    }
    EXPECT_DOUBLE_EQ(w.weights[0], 1);  // understated evidence would like more
}

}  // namespace
}  // namespace subcrop::infer
