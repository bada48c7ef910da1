#include "subcrop/infer/patch_scan.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace subcrop::infer {
namespace {

using testing::IsEmpty;

/// 20 x 20 stops 100 m apart, all drafted as unit 0 of three. Soil speaks for the draft with mean `lean` nats and this scatter; each
/// stop's soil takes `likeness` of its scatter from a field that waves over some 300 m.
PatchEvidence right_draft(unsigned seed, double likeness = 0, double lean = -0.7, double scatter = 1) {
    std::mt19937 engine(seed);
    std::normal_distribution<double> normal;
    PatchEvidence evidence;
    evidence.units = 3;
    evidence.ground = {0.5, 0.3, 0.2};
    double phases[2][12][3];
    for (auto& unit : phases)
        for (auto& wave : unit)
            for (double& x : wave) x = normal(engine);
    for (int i = 0; i < 400; ++i) {
        const Point place{100.0 * (i % 20), 100.0 * (i / 20)};
        evidence.places.push_back(place);
        evidence.drafted.push_back(0);
        evidence.rock_seen.push_back(0);
        evidence.log_ratio.push_back(0);
        for (const auto& unit : phases) {
            double field = 0;
            for (const auto& wave : unit)
                field += std::cos((wave[0] * place.x + wave[1] * place.y) / 200 + 3 * wave[2]) * std::sqrt(2.0 / 12);
            const double noise = std::sqrt(likeness) * field + std::sqrt(1 - likeness) * normal(engine);
            evidence.log_ratio.push_back(static_cast<float>(lean + scatter * noise));
        }
    }
    return evidence;
}

TEST(PatchScan, TheStatisticIsTheBestOtherUnitsSumOverNToThePower) {
    const std::vector<float> rows{0, 1, 2,  0, 3, -1,  0, 0.5F, 2};  // sums 4.5 and 3
    EXPECT_NEAR(patch_statistic(rows, 3, 0, 0.35), 4.5 / std::pow(3, 0.35), 1e-12);
    EXPECT_NEAR(patch_statistic(rows, 3, 1, 0.35), 3 / std::pow(3, 0.35), 1e-12);  // unit 1 itself is no other
    EXPECT_NEAR(patch_statistic(rows, 3, 0, 0), 4.5, 1e-12);
}

TEST(PatchScan, FindsAPlantedPatchWithItsStopsAndItsUnit) {
    PatchEvidence evidence = right_draft(1);
    std::vector<std::uint32_t> planted;
    for (std::uint32_t s = 0; s < 400; ++s) {
        if (distance(evidence.places[s], {1000, 1000}) > 150) continue;  // 9 stops
        planted.push_back(s);
        evidence.log_ratio[3 * s + 2] = 1.5F;
    }
    ASSERT_EQ(planted.size(), 9U);
    const PatchScan scan = scan_patches(evidence, {}, 1);
    ASSERT_EQ(scan.patches.size(), 1U);
    const StopPatch& patch = scan.patches.front();
    EXPECT_EQ(patch.drafted, 0);
    EXPECT_EQ(patch.like, 2);
    EXPECT_LT(patch.p, 0.01);
    EXPECT_NEAR(patch.radius_m, std::hypot(100, 100), 1e-3);
    std::vector<std::uint32_t> found = patch.stops;
    std::sort(found.begin(), found.end());
    EXPECT_EQ(found, planted);
    std::vector<float> rows;
    for (const std::uint32_t s : planted) rows.insert(rows.end(), &evidence.log_ratio[3 * s], &evidence.log_ratio[3 * s] + 3);
    EXPECT_LE(patch.statistic, patch_statistic(rows, 3, 0, 0.35) + 1e-6);  // soils' likeness only lessens it
    EXPECT_GT(scan.p_patch(planted[0]), 0.9);
    EXPECT_LT(scan.p_patch(0), 0.1);
}

TEST(PatchScan, NamesALargePatchWholeThoughItsOwnSoilsDealtOutWouldShowOneToo) {
    PatchEvidence evidence = right_draft(5, 0.3, -0.5, 0.5);
    std::vector<std::uint32_t> planted;
    for (std::uint32_t s = 0; s < 400; ++s) {
        if (evidence.places[s].y > 1000) evidence.drafted[s] = 1;  // a third of unit 0's ground is drawn wrongly
        if (evidence.places[s].y > 500 || evidence.places[s].x > 1250) continue;
        planted.push_back(s);
        evidence.log_ratio[3 * s + 2] += 1;
    }
    ASSERT_EQ(planted.size(), 78U);
    const PatchScan scan = scan_patches(evidence, {}, 1);
    ASSERT_EQ(scan.patches.size(), 1U);
    const StopPatch& patch = scan.patches.front();
    EXPECT_EQ(patch.like, 2);
    EXPECT_GT(patch.probability, 0.9);
    std::size_t right = 0;
    for (const std::uint32_t s : patch.stops) right += std::binary_search(planted.begin(), planted.end(), s);
    EXPECT_GE(right, 65U);
    EXPECT_LE(patch.stops.size() - right, 6U);
}

TEST(PatchScan, FindsAPatchByRockAlone) {
    PatchEvidence evidence = right_draft(2);
    for (const std::uint32_t s : {210U, 211U, 230U, 231U}) {  // contrary rock at four neighbours
        evidence.rock_seen[s] = 1;
        evidence.log_ratio[3 * s + 1] = static_cast<float>(std::log(0.98 / 0.01));
        evidence.log_ratio[3 * s + 2] = 0;
    }
    for (std::uint32_t s = 0; s < 400; s += 7) {  // and rock as drafted elsewhere
        if (evidence.rock_seen[s]) continue;
        evidence.rock_seen[s] = 1;
        for (const std::uint32_t v : {1U, 2U}) evidence.log_ratio[3 * s + v] = static_cast<float>(std::log(0.01 / 0.98));
    }
    const PatchScan scan = scan_patches(evidence, {}, 1);
    ASSERT_EQ(scan.patches.size(), 1U);
    EXPECT_EQ(scan.patches[0].like, 1);
    // A circle about one corner of the square holds its two neighbours before the far corner.
    std::size_t held = 0;
    for (const std::uint32_t s : scan.patches[0].stops) held += s == 210 || s == 211 || s == 230 || s == 231;
    EXPECT_GE(held, 3U);
    EXPECT_LE(scan.patches[0].stops.size(), 6U);
}

/// Alarms among 60 right drafts. At a rate of 0.05 more than 7 have a probability of 0.01 (binomial distribution).
std::size_t alarms(double likeness) {
    std::size_t result = 0;
    PatchScanOptions options;
    options.least_probability = 0;  // significance alone
    options.permutations = 49;
    for (unsigned seed = 100; seed < 160; ++seed) result += !scan_patches(right_draft(seed, likeness), options, 0).patches.empty();
    return result;
}

TEST(PatchScan, RightDraftsRaiseNoMoreFalseAlarmsThanStated) { EXPECT_LE(alarms(0), 7U); }

// Evidence of soils whose ln odds have mean -2 and scatter 2, as calibrated ones do, counted by a quarter as disputed_stops.cpp does.
TEST(PatchScan, NorDoSoilsThatResembleTheirNeighboursOnceTheyMustBeProbableToo) {
    PatchScanOptions options;
    options.permutations = 49;
    for (const double likeness : {0.3, 0.6}) {
        std::size_t result = 0;
        for (unsigned seed = 100; seed < 160; ++seed) result += !scan_patches(right_draft(seed, likeness, -0.5, 0.5), options, 0).patches.empty();
        EXPECT_LE(result, 7U) << likeness;
    }
}

TEST(PatchScan, NothingWithoutStopsOrWithOneUnit) {
    PatchEvidence none;
    none.units = 3;
    EXPECT_THAT(scan_patches(none, {}, 1).patches, IsEmpty());
    PatchEvidence one;
    one.units = 1;
    one.places = {{0, 0}};
    one.drafted = {0};
    one.log_ratio = {0};
    one.rock_seen = {0};
    one.ground = {1};
    const PatchScan scan = scan_patches(one, {}, 1);
    EXPECT_THAT(scan.patches, IsEmpty());
    EXPECT_EQ(scan.p_patch(0), 0);
}

TEST(PatchScan, StopsWithoutADraftedUnitTakeNoPart) {
    PatchEvidence evidence = right_draft(3);
    for (std::uint32_t s = 0; s < 400; ++s) {
        evidence.log_ratio[3 * s + 1] = 5;
        evidence.drafted[s] = model::no_unit;
    }
    const PatchScan scan = scan_patches(evidence, {}, 1);
    EXPECT_THAT(scan.patches, IsEmpty());
    EXPECT_EQ(scan.p_patch(17), 0);
}

TEST(PatchScan, ThreadsChangeNothing) {
    PatchEvidence evidence = right_draft(4, 0.3);
    for (std::uint32_t s = 40; s < 46; ++s) evidence.log_ratio[3 * s + 1] = 4;
    for (std::uint32_t s = 200; s < 400; ++s) evidence.drafted[s] = 1;
    const PatchScan one = scan_patches(evidence, {}, 1), three = scan_patches(evidence, {}, 3);
    EXPECT_EQ(one.probability, three.probability);
    ASSERT_EQ(one.patches.size(), three.patches.size());
    for (std::size_t i = 0; i < one.patches.size(); ++i) {
        EXPECT_EQ(one.patches[i].stops, three.patches[i].stops);
        EXPECT_EQ(one.patches[i].p, three.patches[i].p);
    }
}

}  // namespace
}  // namespace subcrop::infer
