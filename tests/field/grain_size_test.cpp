#include "subcrop/field/grain_size.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <vector>

#include "field/figures.hpp"

namespace subcrop::field {
namespace {

bool same_bits(const IlrDistribution& a, const IlrDistribution& b) {
    return a.mean == b.mean && a.covariance == b.covariance;
}

TEST(Combine, ProductOfTwoNormalsByHand) {
    // Uncorrelated: precisions 1/4 + 1/1 and 1/1 + 1/1; means weighted by them.
    const std::array<IlrDistribution, 2> sources{{{{0, 0}, {4, 0, 1}}, {{1, 2}, {1, 0, 1}}}};
    const IlrDistribution both = combine(sources);
    EXPECT_NEAR(both.mean[0], 0.8, 1e-12);
    EXPECT_NEAR(both.mean[1], 1.0, 1e-12);
    EXPECT_NEAR(both.covariance[0], 0.8, 1e-12);
    EXPECT_NEAR(both.covariance[1], 0.0, 1e-12);
    EXPECT_NEAR(both.covariance[2], 0.5, 1e-12);
    // Correlated: C1 = [2 1; 1 2], C2 = I. Inverse of C1 is [2 -1; -1 2]/3, the sum [5 -1; -1 5]/3, its inverse
    // [5 1; 1 5]/8; pull (3, 0) gives (15/8, 3/8).
    const std::array<IlrDistribution, 2> tilted{{{{0, 0}, {2, 1, 2}}, {{3, 0}, {1, 0, 1}}}};
    const IlrDistribution sum = combine(tilted);
    EXPECT_NEAR(sum.mean[0], 15.0 / 8, 1e-12);
    EXPECT_NEAR(sum.mean[1], 3.0 / 8, 1e-12);
    EXPECT_NEAR(sum.covariance[0], 5.0 / 8, 1e-12);
    EXPECT_NEAR(sum.covariance[1], 1.0 / 8, 1e-12);
}

TEST(Combine, OrderDoesNotMatterToTheLastBit) {
    std::vector<IlrDistribution> sources{feel_distribution(TextureClass::silty_clay),
                                         measured_grain_size({10, 47, 43}),
                                         estimated_grain_size({.clay = 40}),
                                         {{-0.7, -0.4}, {0.03, 0.01, 0.08}}};
    const IlrDistribution once = combine(sources);
    std::vector<int> order(sources.size());
    std::iota(order.begin(), order.end(), 0);
    do {
        std::vector<IlrDistribution> shuffled;
        for (const int i : order) shuffled.push_back(sources[static_cast<std::size_t>(i)]);
        EXPECT_TRUE(same_bits(combine(shuffled), once));
    } while (std::next_permutation(order.begin(), order.end()));
}

TEST(Combine, ASourceCountsOnce) {
    const IlrDistribution feel = feel_distribution(TextureClass::loam);
    const IlrDistribution jar{{0.1, 0.2}, {0.03, 0.01, 0.08}};
    const std::array<IlrDistribution, 2> once{feel, jar};
    const std::array<IlrDistribution, 4> again{feel, jar, feel, jar};
    EXPECT_TRUE(same_bits(combine(once), combine(again)));
    const std::array<IlrDistribution, 2> alone{feel, feel};
    EXPECT_TRUE(same_bits(combine(alone), feel));
}

TEST(Combine, ASourceWithoutInformationChangesNothing) {
    const IlrDistribution jar{{0.1, 0.2}, {0.03, 0.01, 0.08}};
    const std::array<IlrDistribution, 2> sources{jar, IlrDistribution{{5, -5}, {1e12, 0, 1e12}}};
    const IlrDistribution both = combine(sources);
    EXPECT_NEAR(both.mean[0], 0.1, 1e-9);
    EXPECT_NEAR(both.covariance[2], 0.08, 1e-9);
}

TEST(Feel, WiderThanTheClassAndNearIt) {
    for (std::size_t i = 0; i < texture_class_count; ++i) {
        const auto texture_class = static_cast<TextureClass>(i);
        const IlrDistribution& region = class_distribution(texture_class);
        const IlrDistribution& feel = feel_distribution(texture_class);
        EXPECT_GT(feel.covariance[0] * feel.covariance[2] - feel.covariance[1] * feel.covariance[1],
                  region.covariance[0] * region.covariance[2] - region.covariance[1] * region.covariance[1])
            << code(texture_class);
        EXPECT_GT(disagreement(feel, region), 0.7) << code(texture_class);
        // At three tenths of a neighbour the class itself stays the likeliest to be felt so.
        EXPECT_LT(std::hypot(feel.mean[0] - region.mean[0], feel.mean[1] - region.mean[1]), 0.6) << code(texture_class);
    }
}

TEST(HandEstimate, ClayGuessedStaysWithinItsError) {
    const IlrDistribution clay = estimated_grain_size({.clay = 30});
    // Within two standard errors of it lie the classes of 27 to 40 % and parts of others.
    const auto shares = class_probabilities(clay);
    const auto share = [&](TextureClass c) { return shares[static_cast<std::size_t>(c)]; };
    EXPECT_GT(
        share(TextureClass::sandy_clay_loam) + share(TextureClass::clay_loam) + share(TextureClass::silty_clay_loam),
        0.4);
    EXPECT_LT(share(TextureClass::sand) + share(TextureClass::loamy_sand) + share(TextureClass::silt), 0.06);
    EXPECT_NEAR(from_ilr(clay.mean).clay, 30, 6);
    EXPECT_GT(clay.covariance[0], 0.5);  // sand against silt is left open
    EXPECT_LT(estimated_grain_size({.clay = 30, .standard_error = 2}).covariance[2], clay.covariance[2]);
}

TEST(HandEstimate, AllThreeGuessedComeNearTheGuess) {
    const IlrDistribution all = estimated_grain_size({.sand = 40, .silt = 35, .clay = 25});
    const GrainSize mean = from_ilr(all.mean);
    EXPECT_NEAR(mean.sand, 40, 1.5);
    EXPECT_NEAR(mean.silt, 35, 1.5);
    EXPECT_NEAR(mean.clay, 25, 1.5);
}

TEST(Disagreement, ChiSquareOfTwoDegrees) {
    const IlrDistribution a{{0, 0}, {0.5, 0, 0.5}};
    EXPECT_DOUBLE_EQ(disagreement(a, a), 1.0);
    // Summed variance 1: chi-square 9.21034 has p = 0.01 (tables of chi-square).
    const IlrDistribution b{{std::sqrt(9.21034), 0}, {0.5, 0, 0.5}};
    EXPECT_NEAR(disagreement(a, b), 0.01, 1e-6);
    EXPECT_DOUBLE_EQ(disagreement(a, b), disagreement(b, a));
    EXPECT_LT(disagreement(feel_distribution(TextureClass::silty_clay), measured_grain_size({60, 30, 10})), 0.01);
    EXPECT_GT(disagreement(feel_distribution(TextureClass::silt_loam), measured_grain_size({20, 65, 15})), 0.5);
}

TEST(StandardErrors, SlopeAgainstSmallSteps) {
    const std::array<double, 2> mean = ilr({50, 30, 20});
    const double step = 1e-4;
    // One coordinate at a time certain: the error is the change of each part over one standard error.
    for (const std::size_t moved : {0u, 1u}) {
        auto up = mean, down = mean;
        up[moved] += step;
        down[moved] -= step;
        const GrainSize high = from_ilr(up), low = from_ilr(down);
        IlrDistribution distribution{mean, {0, 0, 0}};
        distribution.covariance[moved == 0 ? 0 : 2] = 0.04;
        const GrainSize errors = standard_errors(distribution);
        EXPECT_NEAR(errors.sand, 0.2 * std::abs(high.sand - low.sand) / (2 * step), 1e-5);
        EXPECT_NEAR(errors.silt, 0.2 * std::abs(high.silt - low.silt) / (2 * step), 1e-5);
        EXPECT_NEAR(errors.clay, 0.2 * std::abs(high.clay - low.clay) / (2 * step), 1e-5);
    }
}

TEST(ClassProbabilities, NarrowAndOnALimit) {
    const auto narrow = class_probabilities({ilr({20, 65, 15}), {1e-4, 0, 1e-4}});
    EXPECT_NEAR(narrow[static_cast<std::size_t>(TextureClass::silt_loam)], 1.0, 1e-9);
    // On the limit between clay loam and silty clay loam, far from every other: half and half.
    const auto half = class_probabilities({ilr({20, 46, 34}), {1e-4, 0, 1e-4}});
    EXPECT_NEAR(half[static_cast<std::size_t>(TextureClass::clay_loam)], 0.5, 0.005);
    EXPECT_NEAR(half[static_cast<std::size_t>(TextureClass::silty_clay_loam)], 0.5, 0.005);
    const auto wide = class_probabilities({{0, 0}, {1, 0.3, 1}});
    EXPECT_NEAR(std::accumulate(wide.begin(), wide.end(), 0.0), 1.0, 1e-12);
}

TEST(ClassRange, CornersOfTheRegions) {
    for (const auto& row : figures::read("texture_polygons.csv")) {
        const auto parsed = parse_texture(row.text("class"));
        const GrainSizeRange range = class_range(parsed.value->texture_class);
        double min_sand = 100, max_clay = 0;
        for (const std::string& corner : figures::split(row.text("vertices_sand_clay"), ' ')) {
            const auto parts = figures::split(corner, ':');
            min_sand = std::min(min_sand, std::stod(parts[0]));
            max_clay = std::max(max_clay, std::stod(parts[1]));
        }
        EXPECT_EQ(range.least.sand, min_sand) << row.text("class");
        EXPECT_EQ(range.greatest.clay, max_clay) << row.text("class");
    }
    // Clay of silt loam 0 to 27, silt 50 to 88 (Soil Survey Manual 2017, chapter 3).
    const GrainSizeRange silt_loam = class_range(TextureClass::silt_loam);
    EXPECT_EQ(silt_loam.greatest.clay, 27);
    EXPECT_EQ(silt_loam.least.silt, 50);
    EXPECT_EQ(silt_loam.greatest.silt, 88);
}

}  // namespace
}  // namespace subcrop::field
