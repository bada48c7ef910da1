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

std::vector<std::uint16_t> folds_of(const Judges& judges) {
    std::vector<std::uint16_t> folds;
    for (std::size_t j = 0; j < judges.size(); ++j) folds.push_back(static_cast<std::uint16_t>(j / 7 % 40));
    return folds;
}

const std::vector<double> even(unit_count, std::log(1.0 / 3));

TEST(Weights, FindsTheWeightThatUndoesOverstatement) {
    const Judges judges = judges_of(6000);
    const std::vector<Signature> signatures{channel_of(judges, 2, true, 1), channel_of(judges, 1, false, 2)};
    const ChannelWeights w = learn_weights(signatures, judges, folds_of(judges), even);
    EXPECT_NEAR(w.weights[0], 0.5, 0.03);  // evidence stated twice over
    EXPECT_NEAR(w.weights[1], 0.0, 0.02);  // noise
    EXPECT_LT(w.log_loss, 0.75);
    EXPECT_NEAR(w.share_log_loss, std::log(3.0), 1e-9);
    EXPECT_GT(w.accuracy, 0.6);
}

TEST(Weights, FewJudgesLeaveThePrior) {
    const Judges judges = judges_of(6);
    const ChannelWeights w = learn_weights({channel_of(judges, 2, true, 3)}, judges, folds_of(judges), even);
    EXPECT_NEAR(w.weights[0], 0.35, 0.12);
}

TEST(Weights, NoJudgesIsThePriorItself) {
    const Judges judges(10, model::no_unit);
    const ChannelWeights w = learn_weights({channel_of(judges_of(10), 1, true, 4)}, judges, folds_of(judges), even);
    EXPECT_EQ(w.weights, std::vector<double>{0.35});
    EXPECT_EQ(w.judges, 0u);
}

TEST(Weights, TheSameChannelTwiceCountsOnce) {
    const Judges judges = judges_of(6000);
    const Signature s = channel_of(judges, 1, true, 5);
    const ChannelWeights w = learn_weights({s, s}, judges, folds_of(judges), even);
    EXPECT_NEAR(w.weights[0] + w.weights[1], 1.0, 0.06);
    EXPECT_NEAR(w.weights[0], w.weights[1], 1e-6);
}

TEST(Weights, NeverLeaveTheirBounds) {
    const Judges judges = judges_of(3000);
    const ChannelWeights w = learn_weights({channel_of(judges, 0.2, true, 6), channel_of(judges, 1, false, 7)}, judges,
                                           folds_of(judges), even);
    for (const double weight : w.weights) {
        EXPECT_GE(weight, 0);
        EXPECT_LE(weight, 1);
    }
    EXPECT_DOUBLE_EQ(w.weights[0], 1);  // understated evidence would like more
}

// By the definition itself: every group judged by weights learnt from all other judges.
TEST(Weights, SkillIsThatOfWeightsLearntWithoutTheJudge) {
    const Judges judges = judges_of(150);
    std::vector<Signature> signatures;
    for (unsigned c = 0; c < 8; ++c) signatures.push_back(channel_of(judges, 1, c == 0, c + 10));
    const std::vector<std::uint16_t> folds = folds_of(judges);
    const ChannelWeights all = learn_weights(signatures, judges, folds, even);
    double kept_back = 0, not_kept_back = 0;
    const auto loss = [&](std::size_t j, const std::vector<double>& weights) {
        double sum = 0;
        std::vector<double> p(unit_count, 0.0);
        for (std::size_t c = 0; c < signatures.size(); ++c)
            for (std::size_t u = 0; u < unit_count; ++u)
                p[u] += weights[c] * static_cast<double>(signatures[c].row(j)[u]);
        for (const double x : p) sum += std::exp(x - p[static_cast<std::size_t>(judges[j])]);
        return std::log(sum) / static_cast<double>(judges.size());
    };
    for (std::size_t group = 0; group < 10; ++group) {
        Judges others = judges;
        for (std::size_t j = 0; j < judges.size(); ++j)
            if (folds[j] % 10 == group) others[j] = model::no_unit;
        const ChannelWeights w = learn_weights(signatures, others, folds, even);
        for (std::size_t j = 0; j < judges.size(); ++j) {
            if (folds[j] % 10 != group) continue;
            kept_back += loss(j, w.weights);
            not_kept_back += loss(j, all.weights);
        }
    }
    EXPECT_NEAR(all.log_loss, kept_back, 0.1 * (kept_back - not_kept_back));
    EXPECT_GT(kept_back, not_kept_back + 0.005);  // else the check could not fail
}

}  // namespace
}  // namespace subcrop::infer
