// Planes from points and from strike and dip, against published problems and worked by a second way.
#include "subcrop/geo/plane.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace subcrop::geo {
namespace {

using testing::HasSubstr;

constexpr double degree = std::numbers::pi / 180;

PlaneFit fitted(const std::vector<PlanePoint>& points) {
    const auto fit = fit_plane(points);
    EXPECT_TRUE(fit) << fit.message;
    return fit.value.value_or(PlaneFit{});
}

/// The strike line construction of field handbooks: on the line from the highest to the lowest point the place is found
/// that is as high as the middle one; through both runs the strike, and across it lies the dip.
Attitude by_strike_line(std::vector<PlanePoint> p) {
    std::sort(p.begin(), p.end(), [](const PlanePoint& a, const PlanePoint& b) { return a.z > b.z; });
    const double t = (p[0].z - p[1].z) / (p[0].z - p[2].z);
    const double east = p[0].x + t * (p[2].x - p[0].x) - p[1].x, north = p[0].y + t * (p[2].y - p[0].y) - p[1].y;
    const double length = std::hypot(east, north);
    // How far the lowest point lies to the right of the strike line.
    const double right = ((p[2].x - p[1].x) * north - (p[2].y - p[1].y) * east) / length;
    double strike = std::atan2(east, north) / degree;
    if (right < 0) strike += 180;
    return {std::fmod(strike + 360, 360), std::atan((p[1].z - p[2].z) / std::abs(right)) / degree};
}

struct ThreePoints {
    const char* what;
    std::vector<PlanePoint> points;
    double strike, dip;  // right-hand rule
};

const std::vector<ThreePoints> three_points = {
    // Bennison 1990, An Introduction to Geological Structures and Maps, as worked in published course notes:
    // 106.45, 7.37.
    {"lower coal seam", {{393, 2374, 550}, {1891, 2738, 650}, {2191, 1037, 450}}, 106.45, 7.37},
    {"upper coal seam", {{393, 2374, 950}, {1891, 2738, 1050}, {2191, 1037, 850}}, 106.45, 7.37},
    // By construction.
    {"45 degrees to the east", {{0, 0, 100}, {0, 100, 100}, {100, 0, 0}}, 0, 45},
    {"30 degrees to the south", {{0, 0, 0}, {100, 0, 0}, {0, -100, -100 * std::tan(30 * degree)}}, 90, 30},
};

TEST(Plane, ThreePointProblems) {
    for (const ThreePoints& problem : three_points) {
        const Plane plane = fitted(problem.points).plane;
        EXPECT_NEAR(strike_deg(plane).value(), problem.strike, 0.005) << problem.what;
        EXPECT_NEAR(dip_deg(plane), problem.dip, 0.005) << problem.what;
        for (const PlanePoint& p : problem.points)
            EXPECT_NEAR(distance_m(plane, p.x, p.y, p.z), 0, 1e-9) << problem.what;
        EXPECT_FALSE(dip_sd_deg(plane)) << problem.what;
    }
}

TEST(Plane, AgreesWithTheStrikeLineConstruction) {
    std::mt19937 random(7);
    std::uniform_real_distribution<double> place(-500, 500), height(-200, 200);
    for (int k = 0; k < 200; ++k) {
        std::vector<PlanePoint> points;
        for (int i = 0; i < 3; ++i) points.push_back({place(random), place(random), height(random)});
        const Attitude expected = by_strike_line(points);
        const Plane plane = fitted(points).plane;
        EXPECT_NEAR(dip_deg(plane), expected.dip_deg, 1e-6);
        EXPECT_NEAR(std::remainder(strike_deg(plane).value() - expected.strike_deg, 360), 0, 1e-6);
    }
}

TEST(Plane, ErrorsOfThreePoints) {
    // The lower coal seam with 10 m in east and north and 5 m in height: 106.4 +- 1.6 and 7.4 +- 0.3 in the same course
    // notes.
    std::vector<PlanePoint> points = three_points[0].points;
    for (PlanePoint& p : points) p.horizontal_sd_m = 10, p.height_sd_m = 5;
    const Plane plane = fitted(points).plane;
    EXPECT_NEAR(strike_sd_deg(plane).value(), 1.6, 0.05);
    EXPECT_NEAR(dip_sd_deg(plane).value(), 0.3, 0.05);
    // First-order propagation by numerical derivatives of the strike line construction.
    double strike_variance = 0, dip_variance = 0;
    for (std::size_t i = 0; i < 3; ++i) {
        for (int axis = 0; axis < 3; ++axis) {
            std::vector<PlanePoint> up = points, down = points;
            double PlanePoint::*const part = axis == 0 ? &PlanePoint::x : axis == 1 ? &PlanePoint::y : &PlanePoint::z;
            up[i].*part += 0.01;
            down[i].*part -= 0.01;
            const Attitude a = by_strike_line(up), b = by_strike_line(down);
            const double sd = axis == 2 ? 5 : 10;
            strike_variance += std::pow((a.strike_deg - b.strike_deg) / 0.02 * sd, 2);
            dip_variance += std::pow((a.dip_deg - b.dip_deg) / 0.02 * sd, 2);
        }
    }
    EXPECT_NEAR(strike_sd_deg(plane).value(), std::sqrt(strike_variance), 1e-4);
    EXPECT_NEAR(dip_sd_deg(plane).value(), std::sqrt(dip_variance), 1e-4);
}

TEST(Plane, ManyPointsMeetTheirStatedErrors) {
    // Simulated: the scatter of a hundred estimates is what each says of itself, whether the bed is flat, steep or
    // vertical.
    std::mt19937 random(3);
    std::normal_distribution<double> normal;
    for (const double dip : {4.0, 35.0, 88.0, 90.0}) {
        const Plane truth = *plane_through({60, dip}, {0, 0, 300}).value;
        const double down = 150 * degree;
        double squares = 0, said = 0, chi = 0;
        constexpr int trials = 400;
        for (int trial = 0; trial < trials; ++trial) {
            std::vector<PlanePoint> points;
            for (int i = 0; i < 8; ++i) {
                const double along = 100.0 * (i - 3.5), deep = 60.0 * ((i * 5) % 8 - 3.5);
                const double level = deep * std::cos(dip * degree);
                points.push_back({along * std::sin(60 * degree) + level * std::sin(down) + 3 * normal(random),
                                  along * std::cos(60 * degree) + level * std::cos(down) + 3 * normal(random),
                                  300 - deep * std::sin(dip * degree) + 2 * normal(random), 3, 2});
            }
            const PlaneFit fit = fitted(points);
            double turned = dip_deg(fit.plane) - dip;
            if (dip == 90 && std::cos((*strike_deg(fit.plane) - 60) * degree) < 0) turned = 90 - dip_deg(fit.plane);
            squares += turned * turned;
            said += std::pow(*dip_sd_deg(fit.plane), 2);
            chi += *fit.chi_square;
        }
        // The spread of a mean square over 400 is 7 %, of chi-square's mean sqrt(10 / 400).
        EXPECT_NEAR(squares / said, 1, 0.25) << dip;
        EXPECT_NEAR(chi / trials, 5, 0.6) << dip;
        EXPECT_NEAR(dip_deg(truth), dip, 1e-9);
    }
}

TEST(Plane, ScatterGivesTheErrorWhereNoneIsStated) {
    // Heights only in error: ordinary least squares of z on x and y, worked by hand for a square with one corner off
    // by 4. z = 1 at the mean, residuals +-1 each, so that s = 2 with one degree of freedom.
    const PlaneFit fit = fitted({{0, 0, 0}, {100, 0, 0}, {100, 100, 4}, {0, 100, 0}});
    EXPECT_NEAR(dip_deg(fit.plane), std::atan(std::hypot(0.02, 0.02)) / degree, 1e-3);
    // Slope error s / sqrt(sum of squares) = 2 / 100 in each direction.
    EXPECT_NEAR(dip_sd_deg(fit.plane).value(), std::atan(0.02) / degree, 0.01);
    EXPECT_FALSE(fit.chi_square);
    EXPECT_NEAR(fit.rms_m, 1, 0.01);
}

TEST(Plane, VerticalAndLevel) {
    const Plane dyke = fitted({{0, 0, 0}, {100, 100, 0}, {50, 50, 80}}).plane;
    EXPECT_NEAR(dip_deg(dyke), 90, 1e-9);
    EXPECT_NEAR(strike_deg(dyke).value(), 45, 1e-9);
    EXPECT_FALSE(height_m(dyke, {10, 20}));
    EXPECT_NEAR(std::abs(distance_m(dyke, 100, 0, 55)), 100 / std::sqrt(2.0), 1e-9);
    const Plane sill = fitted({{0, 0, 5}, {10, 0, 5}, {0, 10, 5}}).plane;
    EXPECT_EQ(dip_deg(sill), 0);
    EXPECT_FALSE(strike_deg(sill));
    EXPECT_NEAR(height_m(sill, {1000, 1000}).value(), 5, 1e-9);
    EXPECT_NEAR(strike_deg(*plane_through({200, 90}, {0, 0, 0}).value).value(), 200, 1e-9);
}

TEST(Plane, ApparentDip) {
    // Ragan 2009, Structural Geology: tan(apparent) = tan(true) sin(angle to the strike).
    const Plane plane = *plane_through({0, 30}, {0, 0, 0}).value;
    EXPECT_NEAR(apparent_dip_deg(plane, 45), 22.2077, 1e-4);
    EXPECT_NEAR(apparent_dip_deg(*plane_through({0, 45}, {0, 0, 0}).value, 30), 26.5651, 1e-4);
    EXPECT_NEAR(apparent_dip_deg(plane, 0), 0, 1e-9);
    EXPECT_NEAR(apparent_dip_deg(plane, 270), -30, 1e-9);
}

TEST(Plane, HeightAndItsError) {
    const Plane plane = *plane_through({90, 45, 0, 1}, {0, 0, 100, 0, 2}).value;
    EXPECT_NEAR(height_m(plane, {0, -50}).value(), 50, 1e-9);
    // d(tan dip) = d(dip) / cos2: 50 m x 2 x 1 degree, and 2 m.
    EXPECT_NEAR(height_sd_m(plane, {0, -50}).value(), std::hypot(50 * 2 * degree, 2), 1e-6);
    EXPECT_NEAR(height_sd_m(plane, {500, 0}).value(), 2, 1e-6);  // along the strike the dip says nothing
}

TEST(Plane, WhatIsNoPlane) {
    EXPECT_EQ(fit_plane(std::vector<PlanePoint>{{0, 0, 0}, {1, 1, 1}}).message, "2 points make no plane");
    const auto line =
        fit_plane(std::vector<PlanePoint>{{500000, 6000000, 100}, {500100, 6000200, 110}, {500200, 6000400, 120}});
    EXPECT_EQ(line.message, "the points lie on one line, through which many planes pass");
    EXPECT_THAT(line.remedy, HasSubstr("well off that line"));
    EXPECT_EQ(fit_plane(std::vector<PlanePoint>(5, {3, 4, 5})).message, "the points are all at one place");
    EXPECT_EQ(plane_through({0, 91}, {}).message, "a dip is 0 to 90 degrees");
}

}  // namespace
}  // namespace subcrop::geo
