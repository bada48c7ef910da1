#include "subcrop/infer/shift_field.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "infer/answer/answer_state.hpp"
#include "infer/answer/displacement_basis.hpp"
#include "infer/answer/shift_state.hpp"
#include "infer/two_units.hpp"
#include "subcrop/infer/shift_choice.hpp"

namespace subcrop::infer {
namespace {

/// Two units with a straight contact at x = 0 on 8 by 8 km.
geo::UnitMap straight_map(double contact_x = 0) {
    auto rectangle = [](model::UnitIndex unit, double from, double to) {
        return model::MapPolygon{
            unit, unit + 1, {{{from, -4000}, {to, -4000}, {to, 4000}, {from, 4000}, {from, -4000}}, {}}};
    };
    ProblemLog problems;
    return {{rectangle(0, -4000, contact_x), rectangle(1, contact_x, 4000)}, 2, {}, problems};
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

TEST(ShiftField, ASingleStopMovesTheContactAsFarAsTheReckoningByHandSays) {
    // A stop 60 m west of the drafted contact is certain of the eastern unit. Along the normal the posterior is
    // -u^2 / 2 A^2 + ln Phi((u - 60) / r), u the displacement to the east; its mode solves u / A^2 = phi(z) / (r
    // Phi(z)), z = (u - 60) / r, found here by bisection.
    constexpr double amplitude = 50, residual = 30, distance = 60;
    double low = 0, high = 300;
    for (int i = 0; i < 100; ++i) {
        const double u = (low + high) / 2, z = (u - distance) / residual;
        const double pull = std::exp(-z * z / 2) / std::sqrt(2 * M_PI) / (residual * normal_cdf(z));
        (u / (amplitude * amplitude) < pull ? low : high) = u;
    }
    Testimony t = no_testimony();
    add_stop(t, {-distance, 0}, -40, 0);
    const ShiftField field = fit_two_units(t, straight_map(), displacement_of(amplitude, 800, residual, 0), 4);
    EXPECT_TRUE(field.settled());
    EXPECT_NEAR(field.mean({-distance, 0}).x, low, 3);
    EXPECT_NEAR(field.mean({-distance, 0}).y, 0, 1);
    // It fades with distance as the correlation says.
    EXPECT_NEAR(field.mean({-distance, 800}).x / field.mean({-distance, 0}).x, std::exp(-0.5), 0.05);
    // Along the contact nothing is known; across it the stop narrows the error.
    const auto covariance = field.covariance({-distance, 0});
    EXPECT_NEAR(std::sqrt(covariance[2]), amplitude, 2);
    EXPECT_LT(std::sqrt(covariance[0]), 0.9 * amplitude);
}

TEST(ShiftField, AMixtureOfReachesFadesAsTheSumOfBoth) {
    Testimony t = no_testimony();
    add_stop(t, {-30, 0}, -40, 0);
    const ShiftField field = fit_two_units(t, straight_map(), displacement_of(40, 800, 10, 0, 0.5), 2);
    EXPECT_NEAR(field.mean({-30, 800}).x / field.mean({-30, 0}).x, (std::exp(-0.5) + std::exp(-0.125)) / 2, 0.05);
    EXPECT_NEAR(std::sqrt(field.covariance({-30, 0})[2]), 40, 2);
}

Testimony stops_beyond(double truth, std::size_t count, unsigned seed) {
    Testimony t = no_testimony();
    std::mt19937 engine(seed);
    std::uniform_real_distribution<double> across(-300, 300), along(-2000, 2000);
    for (std::size_t i = 0; i < count; ++i) {
        const double x = across(engine), y = along(engine);
        const bool west = x < truth;
        add_stop(t, {x, y}, west ? 0 : -2, west ? -2 : 0);
    }
    return t;
}

TEST(ShiftField, FindsAShiftFromManyStops) {
    // the truth: the contact runs 80 m further east
    const ShiftField field =
        fit_two_units(stops_beyond(80, 300, 5), straight_map(0), displacement_of(100, 1000, 20, 0.05));
    for (const double y : {-1500.0, -500.0, 500.0, 1500.0}) {
        const Point moved = field.true_place({0, y});
        EXPECT_NEAR(moved.x, 80, 25) << y;
        EXPECT_LT(field.sd_m(moved), 80);
        // there and back
        const Point u = field.displacement(moved);
        EXPECT_NEAR(moved.x + u.x, 0, 1e-4);
        EXPECT_NEAR(moved.y + u.y, y, 1e-4);
    }
}

TEST(ShiftField, TrustAtManyPlacesIsThatOfEachAlone) {
    const ShiftField field =
        fit_two_units(stops_beyond(80, 300, 5), straight_map(0), displacement_of(100, 1000, 20, 0.05));
    std::vector<Point> places;  // more than are solved for together
    for (int i = 0; i < 150; ++i) places.push_back({-600.0 + 8 * i, 30.0 * i - 2200});
    const std::vector<double> together = field.state->trusts(places);
    ASSERT_EQ(together.size(), places.size());
    for (std::size_t i = 0; i < places.size(); ++i) EXPECT_NEAR(together[i], field.trust(places[i]), 1e-9) << i;
    EXPECT_GT(*std::max_element(together.begin(), together.end()), 0.9);
    EXPECT_LT(*std::min_element(together.begin(), together.end()), 0.9);
}

TEST(ShiftField, AllStopsTestifyHoweverManyThereAre) {
    // 6,000 stops place a contact better than 1,500 do: none of them is left out.
    const auto sd_with = [](std::size_t count) {
        const ShiftField field =
            fit_two_units(stops_beyond(60, count, 8), straight_map(0), displacement_of(80, 1000, 20, 0.05), 8);
        return std::sqrt(field.covariance({60, 0})[0]);  // across the contact
    };
    EXPECT_LT(sd_with(6000), 0.75 * sd_with(1500));
}

TEST(ShiftField, GradientIsTheSlopeOfTheDisplacement) {
    Testimony t = no_testimony();
    add_stop(t, {-60, 0}, -9, 0);
    add_stop(t, {70, 900}, 0, -9);
    add_stop(t, {-20, 1500}, -9, 0);
    const ShiftField field = fit_two_units(t, straight_map(), displacement_of(50, 600, 20, 0.05));
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

TEST(DisplacementDraws, HaveTheMeanAndTheSpreadOfTheField) {
    const ShiftField field =
        fit_two_units(stops_beyond(60, 200, 3), straight_map(0), displacement_of(80, 1000, 20, 0.05));
    const DisplacementDraws draws(field, 400, 1, 2);
    std::vector<Point> drawn(draws.count());
    for (const Point p : {Point{20, 0}, Point{-100, 900}, Point{150, -1700}}) {
        EXPECT_NEAR(draws.at(p, drawn), field.trust(p), 0.05);
        Point mean;
        double square = 0;
        const Point mode = field.mean(p);
        for (const Point& u : drawn) {
            mean.x += u.x / static_cast<double>(drawn.size());
            mean.y += u.y / static_cast<double>(drawn.size());
            square += ((u.x - mode.x) * (u.x - mode.x) + (u.y - mode.y) * (u.y - mode.y)) /
                      (2.0 * static_cast<double>(drawn.size()));
        }
        EXPECT_NEAR(mean.x, mode.x, 0.5);  // pairs on either side; the rest is the lattice
        EXPECT_NEAR(mean.y, mode.y, 0.5);
        EXPECT_NEAR(std::sqrt(square) / field.sd_m(p), 1, 0.12);  // 200 pairs: standard error 0.05
    }
    EXPECT_EQ(draws.at({9000, 0}, drawn), 0);
}

/// Stops around a contact that truly runs at `truth`, with soil right in three of four cases, and bedrock observed at
/// `observed` of them.
Testimony stops_about(double truth, std::size_t n, unsigned seed, std::size_t observed = 40) {
    Testimony t = no_testimony();
    std::mt19937 engine(seed);
    std::uniform_real_distribution<double> across(-500, 500), along(-3000, 3000), chance(0, 1);
    for (std::size_t i = 0; i < n; ++i) {
        const double x = across(engine), y = along(engine);
        const bool speaks_west = (x < truth) == (chance(engine) < 0.75);
        add_stop(t, {x, y}, speaks_west ? 0 : -1.1, speaks_west ? -1.1 : 0,
                 static_cast<std::uint16_t>((y + 3000) / 300));
        if (i >= observed) continue;
        t.observed.back() = 1;
        t.bedrock[2 * i + (x < truth ? 1 : 0)] = -4;
    }
    return t;
}

Reckoned reckon(const Testimony& t, double contact_sd_m) {
    static const geo::UnitMap map = straight_map(0);
    AnswerInput input;
    input.map = &map;
    input.units = {0, 1};
    input.shares = {0.5, 0.5};
    input.contact_sd_m = contact_sd_m;
    input.threads = 2;
    return move_draft(t, input, nullptr);
}

TEST(ShiftChoice, LeavesARightMapAlone) {
    for (const unsigned seed : {1u, 2u, 3u}) {
        const Reckoned reckoned = reckon(stops_about(0, 300, seed), 40);
        EXPECT_TRUE(reckoned.shift.field.still())
            << seed << ": " << reckoned.shift.gain << " " << reckoned.shift.gain_error;
    }
}

TEST(ShiftChoice, MovesAWrongOne) {
    const Reckoned reckoned = reckon(stops_about(150, 400, 5), 130);
    ASSERT_FALSE(reckoned.shift.field.still());
    for (const double y : {-2000.0, 0.0, 2000.0}) EXPECT_NEAR(reckoned.shift.field.true_place({0, y}).x, 150, 60) << y;
    EXPECT_GT(reckoned.shift.gain, reckoned.shift.gain_error);
    // A stop at 100 m lies west of the true contact, whatever the draft says.
    const Answer answer(reckoned.state);
    std::vector<float> p(2);
    answer.at({60, 0}, p);
    EXPECT_GT(p[0], 0.7f);
    EXPECT_EQ(answer.revision({60, 0}, straight_map(0).unit_at(answer.place_on_draft({60, 0}))).unit, 0);
}

TEST(ShiftChoice, FewStopsMoveNothing) { EXPECT_TRUE(reckon(stops_about(150, 10, 6, 0), 130).shift.field.still()); }

}  // namespace
}  // namespace subcrop::infer
