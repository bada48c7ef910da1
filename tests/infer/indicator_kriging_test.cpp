#include "subcrop/infer/indicator_kriging.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "field/figures.hpp"

namespace subcrop::infer {
namespace {

/// The stops of tests/reference/kriging_stops.csv, made by kriging.R beside it.
std::vector<SeenRock> reference_stops() {
    std::vector<SeenRock> stops;
    for (const figures::Row& row : figures::read("kriging_stops.csv"))
        stops.push_back({{row.number("x"), row.number("y")}, static_cast<model::UnitIndex>(row.number("unit"))});
    return stops;
}

TEST(UnitVariogram, IsTheSumOfGstatsIndicatorVariograms) {
    const auto bins = unit_variogram(reference_stops(), 450, 15);
    const auto expected = figures::read("kriging_variogram.csv");
    ASSERT_EQ(bins.size(), expected.size());
    for (std::size_t i = 0; i < bins.size(); ++i) {
        EXPECT_EQ(static_cast<double>(bins[i].pairs), expected[i].number("np")) << i;
        EXPECT_NEAR(bins[i].distance_m, expected[i].number("dist"), 1e-9) << i;
        EXPECT_NEAR(bins[i].gamma, expected[i].number("gamma"), 1e-12) << i;
    }
}

TEST(FitVariogram, FindsGstatsModelOrABetterOne) {
    const auto bins = unit_variogram(reference_stops(), 450, 15);
    const Variogram model = fit_variogram(bins);
    // gstat 2.1-0, fit.variogram(v, vgm(0.4, "Sph", 300, 0.1), fit.method = 7): see tests/reference/kriging.R. Its
    // steps stop near the deepest place, ours go on: hence a hundredth of leeway.
    const Variogram gstat{0.0721400308771, 0.7068647024556, 401.653118355};
    EXPECT_NEAR(gstat.misfit(bins), 0.0001103746, 1e-9);  // its SSErr
    EXPECT_LE(model.misfit(bins), gstat.misfit(bins));
    EXPECT_NEAR(model.nugget, gstat.nugget, 0.01 * gstat.nugget);
    EXPECT_NEAR(model.sill, gstat.sill, 0.01 * gstat.sill);
    EXPECT_NEAR(model.range_m, gstat.range_m, 0.01 * gstat.range_m);
}

TEST(FitVariogram, KeepsNuggetAndSillAtLeastZero) {
    const std::vector<VariogramBin> falling{{10, 50, 0.9}, {10, 100, 0.6}, {10, 150, 0.3}};
    const Variogram model = fit_variogram(falling);
    EXPECT_GE(model.nugget, 0);
    EXPECT_GE(model.sill, 0);
    EXPECT_GE(model.range_m, 50);
    EXPECT_EQ(fit_variogram({}).range_m, 1);
}

TEST(Variogram, SphericalModelAtItsLandmarks) {
    const Variogram model{0.1, 0.5, 350};
    EXPECT_EQ(model.at(0), 0);
    EXPECT_NEAR(model.at(175), 0.1 + 0.5 * (0.75 - 0.0625), 1e-12);
    EXPECT_EQ(model.at(350), 0.6);
    EXPECT_EQ(model.at(1000), 0.6);
}

TEST(IndicatorKriging, EstimatesAreGstats) {
    const std::vector<SeenRock> stops = reference_stops();
    // gstat 2.1-0, krige(i ~ 1, d, g, vgm(0.5, "Sph", 350, 0.1), beta = share): see tests/reference/kriging.R
    IndicatorKriging kriging(stops, 3, {0.1, 0.5, 350}, stops.size());
    std::vector<double> share(3, 0.0), estimate(3);
    for (const SeenRock& stop : stops)
        share[static_cast<std::size_t>(stop.unit)] += 1 / static_cast<double>(stops.size());
    kriging.set_shares(share);
    for (const figures::Row& row : figures::read("kriging_estimates.csv")) {
        kriging.estimates({row.number("x"), row.number("y")}, estimate);
        for (std::size_t u = 0; u < 3; ++u)
            EXPECT_NEAR(estimate[u], row.number("p" + std::to_string(u)), 1e-9) << row.number("x") << ' ' << u;
    }
}

TEST(IndicatorKriging, ProbabilitiesAreThat) {
    const IndicatorKriging kriging(reference_stops(), 3, {0.1, 0.5, 350});
    std::vector<double> p(3);
    for (double x = -500; x < 1500; x += 170) {
        kriging.probabilities({x, 400}, p);
        EXPECT_NEAR(std::accumulate(p.begin(), p.end(), 0.0), 1, 1e-12);
        for (const double share : p) EXPECT_GE(share, 0);
    }
    kriging.probabilities({1e6, 1e6}, p);  // far off nothing is known but the shares
    for (std::size_t u = 0; u < 3; ++u) EXPECT_NEAR(p[u], kriging.shares()[u], 1e-12);
}

TEST(IndicatorKriging, AtAStopItsRockStandsUnlessLeftOut) {
    const std::vector<SeenRock> two{{{0, 0}, 0}, {{10, 0}, 1}};
    const IndicatorKriging kriging(two, 2, {0, 1, 100});
    std::vector<double> p(2);
    kriging.probabilities({0, 0}, p);
    EXPECT_NEAR(p[0], 1, 1e-9);
    kriging.probabilities({0, 0}, p, 0);
    EXPECT_GT(p[1], 0.5);
}

TEST(IndicatorKriging, StopsInOnePlaceThatDisagreeDoNoHarm) {
    const std::vector<SeenRock> stops{{{0, 0}, 0}, {{0, 0}, 1}, {{0, 0}, 1}, {{50, 0}, 0}};
    std::vector<double> p(2);
    IndicatorKriging(stops, 2, {0, 1, 100}).probabilities({1, 0}, p);
    EXPECT_TRUE(std::isfinite(p[0]));
    EXPECT_GT(p[1], 0.5);
}

TEST(Variogram, ShowsARangeUnlessAllIsNuggetOrTheRangeEndsBeforeTheNearestPairs) {
    const std::vector<VariogramBin> bins{{10, 100, 0.4}, {10, 300, 0.5}};
    EXPECT_TRUE((Variogram{0.1, 0.4, 500}).shows_range(bins));
    EXPECT_FALSE((Variogram{0.5, 0, 500}).shows_range(bins));
    EXPECT_FALSE((Variogram{0, 0.5, 100}).shows_range(bins));
    EXPECT_FALSE((Variogram{0.49, 0.01, 500}).shows_range(bins));
    EXPECT_FALSE((Variogram{0.1, 0.4, 500}).shows_range({}));
}

}  // namespace
}  // namespace subcrop::infer
