#include "subcrop/infer/shift_field.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "infer/displacement_basis.hpp"
#include "subcrop/infer/shift_choice.hpp"

namespace subcrop::infer {
namespace {

/// Two units with a straight contact at x = 0 on 8 by 8 km.
geo::UnitMap straight_map(double contact_x = 0) {
    auto rectangle = [](model::UnitIndex unit, double from, double to) {
        return model::MapPolygon{unit, unit + 1, {{{from, -4000}, {to, -4000}, {to, 4000}, {from, 4000}, {from, -4000}}, {}}};
    };
    ProblemLog problems;
    return {{rectangle(0, -4000, contact_x), rectangle(1, contact_x, 4000)}, 2, {}, problems};
}

Witness witness(double x, double y, double log_west, double log_east) {
    return {{x, y}, 0, {static_cast<float>(log_west), static_cast<float>(log_east)}, true};
}

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

TEST(DisplacementBasis, HasUnitVarianceAndTheStatedCorrelation) {
    Box box;
    box.add(Point{0, 0});
    box.add(Point{5000, 4000});
    const DisplacementBasis basis(box, 800, 0);
    std::vector<DisplacementBasis::Term> a, b;
    for (const double d : {0.0, 200.0, 400.0, 800.0, 1600.0}) {
        for (const Point p : {Point{700, 900}, Point{2511, 1777}}) {
            basis.at(p, a);
            basis.at({p.x + d * 0.6, p.y + d * 0.8}, b);
            double product = 0;
            for (const auto& s : a) {
                for (const auto& t : b) {
                    if (s.node == t.node) product += s.value * t.value;
                }
            }
            EXPECT_NEAR(product, std::exp(-d * d / (2 * 800 * 800)), 0.03) << d;
        }
    }
}

TEST(ShiftField, ASingleWitnessMovesTheContactAsFarAsTheReckoningByHandSays) {
    // A witness 60 m west of the drafted contact is certain of the eastern unit. Along the normal the posterior is
    // -u^2 / 2 A^2 + ln Phi((u - 60) / r), u the displacement to the east; its mode solves u / A^2 = phi(z) / (r Phi(z)),
    // z = (u - 60) / r, found here by bisection.
    constexpr double amplitude = 50, residual = 30, distance = 60;
    double low = 0, high = 300;
    for (int i = 0; i < 100; ++i) {
        const double u = (low + high) / 2, z = (u - distance) / residual;
        const double pull = std::exp(-z * z / 2) / std::sqrt(2 * M_PI) / (residual * normal_cdf(z));
        (u / (amplitude * amplitude) < pull ? low : high) = u;
    }
    const geo::UnitMap map = straight_map();
    const geo::UnitRaster raster(map, 2, 300, 1);
    const ShiftFieldOptions options{amplitude, 800, residual, 0.0, {0.5, 0.5}};
    const std::vector<Witness> witnesses{witness(-distance, 0, -40, 0)};
    const EvidenceSurfaces surfaces(witnesses, raster, options, 1);
    const ShiftField field = fit_shift_field(witnesses, surfaces, options);
    EXPECT_NEAR(field.mean({-distance, 0}).x, low, 3);
    EXPECT_NEAR(field.mean({-distance, 0}).y, 0, 1);
    // It fades with distance as the correlation says.
    EXPECT_NEAR(field.mean({-distance, 800}).x / field.mean({-distance, 0}).x, std::exp(-0.5), 0.05);
    // Along the contact nothing is known; across it the witness narrows the error.
    const auto covariance = field.covariance({-distance, 0});
    EXPECT_NEAR(std::sqrt(covariance[2]), amplitude, 2);
    EXPECT_LT(std::sqrt(covariance[0]), 0.9 * amplitude);
}

TEST(ShiftField, AMixtureOfReachesFadesAsTheSumOfBoth) {
    const geo::UnitMap map = straight_map();
    const geo::UnitRaster raster(map, 2, 300, 1);
    ShiftFieldOptions options{40, 800, 10, 0.0, {0.5, 0.5}};
    options.longer_share = 0.5;
    const std::vector<Witness> witnesses{witness(-30, 0, -40, 0)};
    const EvidenceSurfaces surfaces(witnesses, raster, options, 1);
    const ShiftField field = fit_shift_field(witnesses, surfaces, options);
    EXPECT_NEAR(field.mean({-30, 800}).x / field.mean({-30, 0}).x, (std::exp(-0.5) + std::exp(-0.125)) / 2, 0.05);
    EXPECT_NEAR(std::sqrt(field.covariance({-30, 0})[2]), 40, 2);
}

TEST(ShiftField, FindsAShiftFromManyWitnesses) {
    const geo::UnitMap draft = straight_map(0);
    const geo::UnitRaster raster(draft, 5, 500, 1);
    std::mt19937 engine(5);
    std::uniform_real_distribution<double> across(-300, 300), along(-2000, 2000);
    std::vector<Witness> witnesses;
    for (int i = 0; i < 300; ++i) {
        const double x = across(engine), y = along(engine);
        const bool west = x < 80;  // the truth: the contact runs 80 m further east
        witnesses.push_back(witness(x, y, west ? 0 : -2, west ? -2 : 0));
    }
    const ShiftFieldOptions options{100, 1000, 20, 0.05, {0.5, 0.5}};
    const EvidenceSurfaces surfaces(witnesses, raster, options, 2);
    const ShiftField field = fit_shift_field(witnesses, surfaces, options);
    for (const double y : {-1500.0, -500.0, 500.0, 1500.0}) {
        const Point moved = field.true_place({0, y});
        EXPECT_NEAR(moved.x, 80, 25) << y;
        EXPECT_LT(field.sd_m(moved), 80);
        // there and back
        const Point u = field.mean(moved);
        EXPECT_NEAR(moved.x + u.x, 0, 1e-4);
        EXPECT_NEAR(moved.y + u.y, y, 1e-4);
    }
}

TEST(ShiftField, GradientIsTheSlopeOfTheDisplacement) {
    const geo::UnitMap map = straight_map();
    const geo::UnitRaster raster(map, 5, 300, 1);
    const ShiftFieldOptions options{50, 600, 20, 0.05, {0.5, 0.5}};
    const std::vector<Witness> witnesses{witness(-60, 0, -9, 0), witness(70, 900, 0, -9), witness(-20, 1500, -9, 0)};
    const EvidenceSurfaces surfaces(witnesses, raster, options, 1);
    const ShiftField field = fit_shift_field(witnesses, surfaces, options);
    const Point p{30, 400};
    const auto g = field.gradient(p);
    const double h = 0.01;
    const Point east = field.mean({p.x + h, p.y}), west = field.mean({p.x - h, p.y});
    const Point north = field.mean({p.x, p.y + h}), south = field.mean({p.x, p.y - h});
    EXPECT_NEAR(g[0], (east.x - west.x) / (2 * h), 1e-6);
    EXPECT_NEAR(g[1], (north.x - south.x) / (2 * h), 1e-6);
    EXPECT_NEAR(g[2], (east.y - west.y) / (2 * h), 1e-6);
    EXPECT_NEAR(g[3], (north.y - south.y) / (2 * h), 1e-6);
}

struct Ground {
    std::vector<Witness> witnesses;
    std::vector<std::uint16_t> folds;
};

/// Stops around a contact that truly runs at `truth`, with soil right in three of four cases.
Ground stops_about(double truth, std::size_t n, unsigned seed) {
    Ground ground;
    std::mt19937 engine(seed);
    std::uniform_real_distribution<double> across(-500, 500), along(-3000, 3000), chance(0, 1);
    for (std::size_t i = 0; i < n; ++i) {
        const double x = across(engine), y = along(engine);
        const bool speaks_west = (x < truth) == (chance(engine) < 0.75);
        ground.witnesses.push_back(witness(x, y, speaks_west ? 0 : -1.1, speaks_west ? -1.1 : 0));
        ground.folds.push_back(static_cast<std::uint16_t>((y + 3000) / 300));
    }
    return ground;
}

ShiftChoice choose(const Ground& ground) {
    const geo::UnitMap map = straight_map(0);
    const geo::UnitRaster raster(map, 5, 1000, 2);
    ShiftChoiceOptions options;
    options.contact_sd_m = 100;
    options.extent_m = 6000;
    options.ground = {0.5, 0.5};
    return choose_shift(ground.witnesses, ground.folds, raster, options, 2);
}

TEST(ShiftChoice, LeavesARightMapAlone) {
    for (const unsigned seed : {1u, 2u, 3u}) {
        const ShiftChoice choice = choose(stops_about(0, 300, seed));
        EXPECT_TRUE(choice.field.still()) << seed;
        EXPECT_EQ(choice.chosen.amplitude_m, 0);
        EXPECT_EQ(choice.trials.size(), 8u);
    }
}

TEST(ShiftChoice, MovesAWrongOne) {
    const ShiftChoice choice = choose(stops_about(150, 400, 5));
    ASSERT_FALSE(choice.field.still());
    for (const double y : {-2000.0, 0.0, 2000.0}) EXPECT_NEAR(choice.field.true_place({0, y}).x, 150, 60) << y;
}

TEST(ShiftChoice, TakesTheSizeThatTheStatedErrorLetsExpectUnlessAnotherIsSurelyBetter) {
    // The contact lies 250 m off where the draft claims 100: twice the usual size would suit, if the stops can tell.
    const auto best = [](const ShiftChoice& choice) {
        return *std::max_element(choice.trials.begin(), choice.trials.end(), [](const auto& a, const auto& b) { return a.gain < b.gain; });
    };
    const ShiftChoice unsure = choose(stops_about(250, 150, 3));
    EXPECT_EQ(best(unsure).amplitude_m, 160);
    EXPECT_EQ(unsure.chosen.amplitude_m, 80);
    EXPECT_LT(best(unsure).gain - unsure.chosen.gain, best(unsure).gain_error);
    const ShiftChoice sure = choose(stops_about(250, 150, 1));
    EXPECT_EQ(best(sure).amplitude_m, 160);
    EXPECT_EQ(sure.chosen.amplitude_m, 160);
}

TEST(ShiftChoice, FewStopsMoveNothing) {
    EXPECT_TRUE(choose(stops_about(150, 15, 6)).field.still());
}

TEST(ShiftChoice, MovesTheWrongPartOfADraftAndLeavesTheRightOne) {
    const Ground wrong = stops_about(150, 800, 7), right = stops_about(0, 800, 8);
    Ground ground;
    for (const auto& [half, sign] : {std::pair(&wrong, -1), std::pair(&right, 1)}) {
        for (std::size_t i = 0; i < half->witnesses.size(); ++i) {
            if (half->witnesses[i].place.y * sign < 0) continue;
            ground.witnesses.push_back(half->witnesses[i]);
            ground.folds.push_back(half->folds[i]);
        }
    }
    const ShiftChoice choice = choose(ground);
    ASSERT_FALSE(choice.field.still());
    EXPECT_NEAR(choice.field.true_place({0, -1800}).x, 150, 60);
    EXPECT_LT(std::abs(choice.field.true_place({0, 1800}).x), 15);
}

TEST(ShiftField, TrustIsNothingWhereNoStopSpeaksAndWholeWhereManyDo) {
    const geo::UnitMap map = straight_map(0);
    const geo::UnitRaster raster(map, 5, 1000, 2);
    const Ground ground = stops_about(150, 400, 9);
    ShiftFieldOptions options{.amplitude_m = 100, .reach_m = 600, .residual_m = 30, .error_share = 0.05, .ground = {0.5, 0.5}};
    const EvidenceSurfaces surfaces(ground.witnesses, raster, options, 2);
    ShiftField field = fit_shift_field(ground.witnesses, surfaces, options);
    const Point along{75, 300}, away{3500, 300};
    const double close = field.trust(along);
    EXPECT_GT(close, 0.9);
    EXPECT_EQ(field.trust(away), 0);
    field.ready_for_many_places();
    EXPECT_NEAR(field.trust(along), close, 0.1);
    EXPECT_LT(field.trust(away), 1e-9);
    // once ready, the gradient is that of the displacement adopted
    constexpr double h = 0.5;
    const Point p{60, 250};
    const Point east = field.displacement({p.x + h, p.y}), west = field.displacement({p.x - h, p.y});
    EXPECT_NEAR(field.gradient(p)[0], (east.x - west.x) / (2 * h), 1e-4);
}

}  // namespace
}  // namespace subcrop::infer
