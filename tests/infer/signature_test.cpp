#include "subcrop/infer/signature.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

namespace subcrop::infer {
namespace {

/// Stops of known units, each in a fold of its own unless told otherwise.
struct Ground {
    Training training;
    Judges judges;

    Ground(std::size_t units, const std::vector<int>& unit_of_stop, std::uint16_t folds) {
        training.units = units;
        training.folds = folds;
        training.shares.assign(units, 1.0 / static_cast<double>(units));
        for (std::size_t s = 0; s < unit_of_stop.size(); ++s) {
            training.fold_of_stop.push_back(static_cast<std::uint16_t>(s % folds));
            for (std::size_t u = 0; u < units; ++u) {
                training.responsibility.push_back(static_cast<int>(u) == unit_of_stop[s] ? 1.0f : 0.0f);
            }
            judges.push_back(unit_of_stop[s]);
        }
    }
};

Channel words(const std::vector<std::int32_t>& value_of_stop, std::size_t count) {
    Channel channel;
    channel.name = "word";
    channel.kind = Channel::Kind::category;
    channel.value_of_stop = value_of_stop;
    channel.value_count = count;
    for (std::size_t v = 0; v < count; ++v) channel.labels.push_back("w" + std::to_string(v));
    return channel;
}

Channel numbers(const std::vector<double>& values) {
    Channel channel;
    channel.name = "number";
    channel.dimensions = 1;
    channel.coordinates = values;
    channel.value_count = values.size();
    channel.value_of_stop.resize(values.size());
    std::iota(channel.value_of_stop.begin(), channel.value_of_stop.end(), 0);
    return channel;
}

std::vector<double> draw(std::size_t n, double mean, double sd, unsigned seed) {
    std::mt19937 engine(seed);
    std::normal_distribution<double> normal(mean, sd);
    std::vector<double> values(n);
    for (double& v : values) v = normal(engine);
    return values;
}

TEST(CategorySignature, IsTheDirichletMultinomialPredictive) {
    // Unit A has the word at 7 of 9 stops, unit B at 2 of 9: the pooled share is one half, and with a prior worth one
    // stop A's predictive is Jeffreys' (7 + 1/2) / (9 + 1) = 0.75 (beta-Bernoulli, scipy 1.10.1 betabinom agrees).
    std::vector<int> units;
    std::vector<std::int32_t> values;
    for (int i = 0; i < 18; ++i) {
        units.push_back(i < 9 ? 0 : 1);
        values.push_back(i < 7 || (i >= 9 && i < 11) ? 0 : 1);
    }
    Ground ground(2, units, 1);
    for (auto& fold : ground.training.fold_of_stop) fold = 1;  // nothing left out
    SignatureOptions options;
    options.category_stops = 1;
    const Signature s = learn_signature(words(values, 2), ground.training, ground.judges, 1, options);
    EXPECT_NEAR(std::exp(s.log_density(0, 0)), 0.75, 1e-6);
    EXPECT_NEAR(std::exp(s.log_density(0, 1)), 0.25, 1e-6);
}

TEST(SetSignature, AbsenceCountsOnlyInACompleteList) {
    Channel plants;
    plants.name = "plants";
    plants.kind = Channel::Kind::set;
    plants.labels = {"bracken", "heather"};
    plants.items = {{0}, {1}, {}, {}};
    plants.complete = {0, 0, 1, 1};
    plants.value_count = 4;
    std::vector<int> units;
    for (int i = 0; i < 40; ++i) {
        units.push_back(i < 20 ? 0 : 1);
        plants.value_of_stop.push_back(i < 20 ? 0 : 1);  // bracken over A, heather over B
    }
    plants.value_of_stop.push_back(2);  // a complete list without either
    units.push_back(0);
    Ground ground(2, units, 1);
    std::fill(ground.training.fold_of_stop.begin(), ground.training.fold_of_stop.end(), std::uint16_t{1});
    std::fill(ground.training.responsibility.end() - 2, ground.training.responsibility.end(), 0.0f);
    const Signature s = learn_signature(plants, ground.training, ground.judges, 1);
    EXPECT_GT(s.row(0)[0], s.row(0)[1]);
    EXPECT_LT(s.row(20)[0], s.row(20)[1]);
    // Alike but for the names, so two absences cancel: neither unit is favoured.
    EXPECT_NEAR(s.row(40)[0], s.row(40)[1], 1e-5);
    // An incomplete list says nothing by what it leaves out: p(heather absent) does not enter.
    EXPECT_NEAR(s.log_density(0, 0), std::log((20 + 5 * 20.5 / 41) / 25), 1e-5);
}

TEST(ContinuousSignature, AStopNeverTestifiesForItself) {
    std::vector<int> units(60, 0);
    std::fill(units.begin() + 30, units.end(), 1);
    std::vector<double> values = draw(60, 0, 1, 3);
    Ground ground(2, units, 10);
    SignatureOptions options;
    options.bandwidths = {0.35};
    const Signature before = learn_signature(numbers(values), ground.training, ground.judges, 1, options);
    // Relabelling a stop and all others of its fold must leave what is said at that stop as it was, but for the pooled
    // scatter that sets the width of the kernels; with the pooled scatter nearly unchanged, nearly as it was.
    for (std::size_t s = 0; s < 60; s += 10) {
        std::swap(ground.training.responsibility[s * 2], ground.training.responsibility[s * 2 + 1]);
    }
    const Signature after = learn_signature(numbers(values), ground.training, ground.judges, 1, options);
    for (std::size_t s = 0; s < 60; s += 10) EXPECT_NEAR(before.row(s)[0], after.row(s)[0], 0.03);
    double moved = 0;
    for (std::size_t s = 1; s < 60; s += 10) moved += std::abs(before.row(s)[0] - after.row(s)[0]);
    EXPECT_GT(moved, 0.2);  // the others do feel it
}

TEST(ContinuousSignature, DensityIntegratesToOne) {
    std::vector<double> values = draw(40, 5, 2, 4);
    std::vector<int> units(40, 0);
    std::fill(units.begin() + 20, units.end(), 1);
    const std::size_t taught = values.size();
    const double low = -60, step = 0.05;
    for (double x = low; x < 70; x += step) values.push_back(x);  // asked, not taught
    units.resize(values.size(), 0);
    Ground ground(2, units, 1);
    std::fill(ground.training.fold_of_stop.begin(), ground.training.fold_of_stop.end(), std::uint16_t{1});
    std::fill(ground.training.responsibility.begin() + static_cast<std::ptrdiff_t>(2 * taught),
              ground.training.responsibility.end(), 0.0f);
    std::fill(ground.judges.begin(), ground.judges.end(), model::no_unit);
    const Signature s = learn_signature(numbers(values), ground.training, ground.judges, 2);
    for (const model::UnitIndex unit : {0, 1}) {
        double sum = 0;
        for (std::size_t i = taught; i < values.size(); ++i) sum += std::exp(s.log_density(i, unit)) * step;
        EXPECT_NEAR(sum, 1, 1e-3);
    }
}

TEST(ContinuousSignature, TellsApartWhatDiffersAndOnlyThat) {
    std::vector<double> values = draw(100, 0, 1, 5);
    const std::vector<double> far = draw(100, 4, 1, 6);
    values.insert(values.end(), far.begin(), far.end());
    std::vector<int> units(200, 0);
    std::fill(units.begin() + 100, units.end(), 1);
    Ground ground(2, units, 10);
    const Signature s = learn_signature(numbers(values), ground.training, ground.judges, 1);
    const std::vector<double> log_shares(2, std::log(0.5));
    EXPECT_LT(held_out_log_loss(s, ground.judges, log_shares, 1), 0.15);

    // The same numbers in every unit: no channel, no preference.
    std::vector<double> same(200);
    for (std::size_t i = 0; i < 200; ++i) same[i] = values[i % 100];
    for (auto& fold : ground.training.fold_of_stop) fold = 10;
    const Signature flat = learn_signature(numbers(same), ground.training, ground.judges, 1);
    for (std::size_t i = 0; i < 200; ++i) EXPECT_NEAR(flat.row(i)[0], 0, 1e-5);
}

TEST(ContinuousSignature, OrderOfStopsAndThreadsChangeNothing) {
    std::vector<double> values = draw(150, 0, 1, 7);
    std::vector<int> units;
    for (int i = 0; i < 150; ++i) units.push_back(i % 3);
    for (std::size_t i = 0; i < 150; ++i) values[i] += units[i];
    Ground ground(3, units, 15);
    const Signature one = learn_signature(numbers(values), ground.training, ground.judges, 1);
    const Signature two = learn_signature(numbers(values), ground.training, ground.judges, 2);
    EXPECT_EQ(one.relative, two.relative);

    Ground reversed = ground;
    std::vector<double> turned(values.rbegin(), values.rend());
    std::reverse(reversed.judges.begin(), reversed.judges.end());
    std::reverse(reversed.training.fold_of_stop.begin(), reversed.training.fold_of_stop.end());
    for (std::size_t s = 0; s < 150; ++s) {
        for (std::size_t u = 0; u < 3; ++u) {
            reversed.training.responsibility[s * 3 + u] = ground.training.responsibility[(149 - s) * 3 + u];
        }
    }
    const Signature other = learn_signature(numbers(turned), reversed.training, reversed.judges, 1);
    for (std::size_t s = 0; s < 150; ++s) EXPECT_NEAR(one.row(s)[1], other.row(149 - s)[1], 1e-5);
}

TEST(ContinuousSignature, ManyDistinctValuesAreMergedWithoutHarm) {
    constexpr std::size_t n = 20000;
    std::vector<double> values = draw(n, 0, 1, 8);
    std::vector<int> units(n, 0);
    for (std::size_t i = n / 2; i < n; ++i) {
        values[i] += 1;
        units[i] = 1;
    }
    Ground ground(2, units, 10);
    for (std::size_t i = 0; i < n; ++i)
        if (i % 40 != 0) ground.judges[i] = model::no_unit;
    SignatureOptions options;
    options.bandwidths = {0.35};
    const Signature s = learn_signature(numbers(values), ground.training, ground.judges, 2, options);
    // Two normal laws, standard deviation 1, one apart, smoothed by 0.35: log odds (x - 1/2) / (1 + 0.35^2).
    for (std::size_t i = 0; i < n; i += 997) {
        if (std::abs(values[i] - 0.5) > 1.5) continue;
        EXPECT_NEAR(s.row(i)[1] - s.row(i)[0], (values[i] - 0.5) / (1 + 0.35 * 0.35), 0.12) << values[i];
    }
}

TEST(Signature, ExpectedSoilCountsAsStopsAtTheStart) {
    Channel channel = words({0, 1, -1}, 2);
    channel.expected.push_back({0, 0, 5.0});
    Ground ground(2, {0, 1, 1}, 1);
    std::fill(ground.training.responsibility.begin(), ground.training.responsibility.end(), 0.0f);
    std::fill(ground.training.fold_of_stop.begin(), ground.training.fold_of_stop.end(), std::uint16_t{1});
    const Signature s = learn_signature(channel, ground.training, ground.judges, 1);
    EXPECT_GT(s.row(0)[0], s.row(0)[1]);
    EXPECT_LT(s.row(1)[0], s.row(1)[1]);
    EXPECT_FALSE(s.speaks(2));
}

}  // namespace
}  // namespace subcrop::infer
