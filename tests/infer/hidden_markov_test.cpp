#include "infer/statistics/hidden_markov.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <random>

#include "field/figures.hpp"

namespace subcrop::infer {
namespace {

struct Model {
    std::vector<double> start;
    std::vector<double> transition;  ///< row-major
    std::vector<double> emission;    ///< states x symbols
    std::vector<std::size_t> observed;

    HiddenMarkov chain() const {
        const std::size_t states = start.size(), symbols = emission.size() / states;
        std::vector<double> log_emission;
        for (const std::size_t symbol : observed) {
            for (std::size_t u = 0; u < states; ++u) log_emission.push_back(std::log(emission[u * symbols + symbol]));
        }
        return {start, log_emission, [this](std::size_t, std::span<double> matrix) {
                    std::copy(transition.begin(), transition.end(), matrix.begin());
                }};
    }
};

/// The models whose answers tests/reference/hidden_markov.csv gives; sources there.
std::map<std::string, Model> textbook_models() {
    return {{"umbrella", {{0.5, 0.5}, {0.7, 0.3, 0.3, 0.7}, {0.9, 0.1, 0.2, 0.8}, {0, 0, 1, 0, 0}}},
            {"fever", {{0.6, 0.4}, {0.7, 0.3, 0.4, 0.6}, {0.5, 0.4, 0.1, 0.1, 0.3, 0.6}, {0, 1, 2}}},
            {"icecream", {{0.8, 0.2}, {0.6, 0.4, 0.5, 0.5}, {0.2, 0.4, 0.4, 0.5, 0.4, 0.1}, {2, 0, 2}}},
            {"music",
             {{0.6, 0.2, 0.2},
              {0.8, 0.1, 0.1, 0.2, 0.7, 0.1, 0.1, 0.3, 0.6},
              {0.7, 0.0, 0.3, 0.1, 0.9, 0.0, 0.0, 0.2, 0.8},
              {0, 2, 0, 2, 2, 1}}}};
}

TEST(HiddenMarkov, GivesTheTextbooksProbabilities) {
    const auto models = textbook_models();
    std::size_t figures_compared = 0;
    for (const figures::Row& row : figures::read("hidden_markov.csv")) {
        const Model& model = models.at(row.text("model"));
        const HiddenMarkov chain = model.chain();
        const auto at = static_cast<std::size_t>(row.number("observation")),
                   state = static_cast<std::size_t>(row.number("state"));
        EXPECT_NEAR(chain.filtered(at)[state], row.number("filtered"), 1e-12) << row.text("model") << at;
        EXPECT_NEAR(chain.smoothed(at)[state], row.number("smoothed"), 1e-12) << row.text("model") << at;
        EXPECT_NEAR(chain.log_likelihood(), std::log(row.number("likelihood")), 1e-12) << row.text("model");
        ++figures_compared;
    }
    EXPECT_EQ(figures_compared, 40u);
}

TEST(HiddenMarkov, AgreesWithTheSumOverAllPathsOfStates) {
    std::mt19937_64 random(11);
    const auto share = [&random] { return 0.01 + static_cast<double>(random() >> 11U) * 0x1.0p-53; };
    for (int trial = 0; trial < 40; ++trial) {
        const std::size_t states = 2 + random() % 3, count = 1 + random() % 6;
        std::vector<double> start(states), log_emission(states * count), matrices((count - 1) * states * states);
        for (double& p : start) p = share();
        double sum = 0;
        for (const double p : start) sum += p;
        for (double& p : start) p /= sum;
        for (double& l : log_emission) l = 200 * share() - 400;  // far below what would underflow unscaled
        for (std::size_t row = 0; row < (count - 1) * states; ++row) {
            sum = 0;
            for (std::size_t v = 0; v < states; ++v) sum += matrices[row * states + v] = share();
            for (std::size_t v = 0; v < states; ++v) matrices[row * states + v] /= sum;
        }
        const HiddenMarkov chain(start, log_emission, [&](std::size_t gap, std::span<double> matrix) {
            for (std::size_t i = 0; i < matrix.size(); ++i) matrix[i] = matrices[gap * matrix.size() + i];
        });

        std::vector<double> smoothed(states * count), pairs(matrices.size());
        double total = 0;
        std::vector<std::size_t> path(count);
        std::size_t paths = 1;
        for (std::size_t t = 0; t < count; ++t) paths *= states;
        for (std::size_t number = 0; number < paths; ++number) {
            for (std::size_t t = 0, rest = number; t < count; ++t, rest /= states) path[t] = rest % states;
            double log_p = std::log(start[path[0]]);
            for (std::size_t t = 0; t < count; ++t) {
                log_p += log_emission[t * states + path[t]] + 400;
                if (t > 0) log_p += std::log(matrices[((t - 1) * states + path[t - 1]) * states + path[t]]);
            }
            const double p = std::exp(log_p - 600);
            total += p;
            for (std::size_t t = 0; t < count; ++t) {
                smoothed[t * states + path[t]] += p;
                if (t > 0) pairs[((t - 1) * states + path[t - 1]) * states + path[t]] += p;
            }
        }
        EXPECT_NEAR(chain.log_likelihood(), std::log(total) + 600 - 400 * static_cast<double>(count), 1e-9);
        std::vector<double> joint(states * states);
        for (std::size_t t = 0; t < count; ++t) {
            for (std::size_t u = 0; u < states; ++u)
                EXPECT_NEAR(chain.smoothed(t)[u], smoothed[t * states + u] / total, 1e-10);
            if (t + 1 == count) continue;
            chain.pairs(t, joint);
            for (std::size_t i = 0; i < joint.size(); ++i)
                EXPECT_NEAR(joint[i], pairs[t * joint.size() + i] / total, 1e-10);
        }
    }
}

TEST(HiddenMarkov, LongChainsDoNotUnderflow) {
    constexpr std::size_t count = 50000;
    std::vector<double> log_emission(2 * count, -1000.0);
    for (std::size_t t = 0; t < count; ++t) log_emission[2 * t + (t < count / 2 ? 0 : 1)] += 3;
    const std::vector<double> start{0.5, 0.5};
    const HiddenMarkov chain(start, log_emission, [](std::size_t, std::span<double> matrix) {
        matrix[0] = matrix[3] = 0.99;
        matrix[1] = matrix[2] = 0.01;
    });
    EXPECT_TRUE(std::isfinite(chain.log_likelihood()));
    EXPECT_GT(chain.smoothed(0)[0], 0.99);
    EXPECT_GT(chain.smoothed(count - 1)[1], 0.99);
}

}  // namespace
}  // namespace subcrop::infer
