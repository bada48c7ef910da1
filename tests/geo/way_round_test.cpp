#include "geo/way_round.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

namespace subcrop::geo {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

Polygon rectangle(double west, double south, double east, double north) {
    return {{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}, {}};
}

double length_of(const Line& line) {
    double length = 0;
    for (std::size_t i = 1; i < line.size(); ++i) length += distance(line[i - 1], line[i]);
    return length;
}

TEST(WaysRound, StraightLinesThroughAreasAreKnown) {
    const std::vector<Polygon> areas{
        {{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}, {{{4, 4}, {4, 6}, {6, 6}, {6, 4}, {4, 4}}}}};
    EXPECT_TRUE(crosses({-5, 5}, {15, 5}, areas));
    EXPECT_TRUE(crosses({1, 1}, {2, 2}, areas));       // inside it
    EXPECT_FALSE(crosses({4.5, 5}, {5.5, 5}, areas));  // inside its hole
    EXPECT_TRUE(crosses({5, 5}, {20, 20}, areas));
    EXPECT_FALSE(crosses({-5, 11}, {15, 11}, areas));
}

// Lengths worked out by hand: the corners of a square of 100 m, 2 m outwards.
TEST(WaysRound, ASquareIsPassedByItsCorners) {
    const std::vector<Polygon> square{rectangle(0, 0, 100, 100)};
    const WaysRound ways(square);
    const Line opposite = ways.between({-50, 40}, {150, 40});
    EXPECT_THAT(opposite, ElementsAre(Point{-50, 40}, Point{-2, -2}, Point{102, -2}, Point{150, 40}));
    EXPECT_NEAR(length_of(opposite), 2 * std::sqrt(48.0 * 48 + 42 * 42) + 104, 1e-9);
    const Line about_one = ways.between({50, -20}, {120, 50});
    EXPECT_THAT(about_one, ElementsAre(Point{50, -20}, Point{102, -2}, Point{120, 50}));
    EXPECT_NEAR(length_of(about_one), 2 * std::sqrt(52.0 * 52 + 18 * 18), 1e-9);
    EXPECT_THAT(ways.between({-50, -20}, {150, -20}), ElementsAre(Point{-50, -20}, Point{150, -20}));
    EXPECT_THAT(WaysRound({}).between({0, 0}, {5, 5}), ElementsAre(Point{0, 0}, Point{5, 5}));
}

TEST(WaysRound, AWayLeadsBetweenTwoSquaresIfItIsWideEnough) {
    const std::vector<Polygon> apart{rectangle(0, 0, 100, 100), rectangle(110, 0, 210, 100)};
    const Line through = WaysRound(apart).between({60, -50}, {150, 150});
    EXPECT_THAT(through, ElementsAre(Point{60, -50}, Point{102, -2}, Point{108, 102}, Point{150, 150}));
    EXPECT_NEAR(length_of(through), 2 * std::hypot(42, 48) + std::hypot(6, 104), 1e-9);
    const std::vector<Polygon> near{rectangle(0, 0, 100, 100), rectangle(103, 0, 210, 100)};
    const Line about = WaysRound(near).between({50, -50}, {150, 150});  // 334 m by the west, 351 by the east
    EXPECT_THAT(about, ElementsAre(Point{50, -50}, Point{-2, -2}, Point{-2, 102}, Point{150, 150}));
}

TEST(WaysRound, NoWayLeadsIntoAnArea) {
    const std::vector<Polygon> ring{
        {{{0, 0}, {100, 0}, {100, 100}, {0, 100}, {0, 0}}, {{{20, 20}, {20, 80}, {80, 80}, {80, 20}, {20, 20}}}}};
    const WaysRound ways(ring);
    EXPECT_THAT(ways.between({-50, 50}, {10, 50}), IsEmpty());  // a stop inside
    EXPECT_THAT(ways.between({10, 50}, {-50, 50}), IsEmpty());
    EXPECT_THAT(ways.between({-50, 50}, {50, 50}), IsEmpty());  // the area encloses it
    EXPECT_THAT(ways.between({30, 30}, {70, 70}), ElementsAre(Point{30, 30}, Point{70, 70}));
    // A gap of 10 m in the south of the ring lets the way in.
    const std::vector<Polygon> open{{{{0, 0},
                                      {45, 0},
                                      {45, 20},
                                      {20, 20},
                                      {20, 80},
                                      {80, 80},
                                      {80, 20},
                                      {55, 20},
                                      {55, 0},
                                      {100, 0},
                                      {100, 100},
                                      {0, 100},
                                      {0, 0}},
                                     {}}};
    EXPECT_THAT(WaysRound(open).between({-50, 50}, {50, 50}),
                ElementsAre(Point{-50, 50}, Point{-2, -2}, Point{47, -2}, Point{50, 50}));
}

TEST(WaysRound, AStartBesideAnAreaNeedNotStepBack) {
    const std::vector<Polygon> square{rectangle(0, 0, 100, 100)};
    const Line way = WaysRound(square).between({101, 60}, {-50, 60});  // 1 m off its wall
    EXPECT_THAT(way, ElementsAre(Point{101, 60}, Point{102, 102}, Point{-2, 102}, Point{-50, 60}));
}

// Along tangents and an arc of 102 m; corners every half degree are simplified by 0.5 m at most.
TEST(WaysRound, ARoundAreaIsPassedAlongItsTangents) {
    Ring ring;
    for (int i = 0; i <= 720; ++i) {
        const double angle = std::numbers::pi * i / 360;
        ring.push_back({100 * std::cos(angle), 100 * std::sin(angle)});
    }
    ring.back() = ring.front();
    const std::vector<Polygon> circle{{ring, {}}};
    const double r = 102, d = 300;
    const double expected = 2 * std::sqrt(d * d - r * r) + r * (std::numbers::pi - 2 * std::acos(r / d));
    EXPECT_NEAR(length_of(WaysRound(circle).between({-d, 0}, {d, 0})), expected, 1);
}

/// Whether a segment meets the inside of a rectangle widened by 2 m (Liang and Barsky 1984).
bool meets(Point a, Point b, const Box& box) {
    double from = 0, to = 1;
    const auto side = [&](double p, double q) {
        if (p == 0) return q > 1e-9;
        (p < 0 ? from : to) = p < 0 ? std::max(from, q / p) : std::min(to, q / p);
        return from < to - 1e-9;
    };
    return side(a.x - b.x, a.x - box.min_x) && side(b.x - a.x, box.max_x - a.x) && side(a.y - b.y, a.y - box.min_y) &&
           side(b.y - a.y, box.max_y - a.y);
}

// Against all ways among the corners of all rectangles, each step tested by itself, by Bellman and Ford.
TEST(WaysRound, AmongManyRectanglesItIsTheShortest) {
    int round_about = 0;
    for (unsigned seed = 1; seed <= 60; ++seed) {
        std::mt19937 random(seed);
        const auto tens = [&](unsigned below) { return 10.0 * static_cast<double>(random() % below); };
        std::vector<Polygon> areas;
        std::vector<Box> boxes;
        std::vector<Point> nodes{{-30, 10.0 + tens(40)}, {600, 10.0 + tens(40)}};
        for (int i = 0; i < 12; ++i) {
            const double west = tens(45), south = tens(45), east = west + 20 + tens(10), north = south + 20 + tens(15);
            areas.push_back(rectangle(west, south, east, north));
            boxes.push_back({west - 2, south - 2, east + 2, north + 2});
            for (const Point p : {Point{west - 2, south - 2}, Point{east + 2, south - 2}, Point{east + 2, north + 2},
                                  Point{west - 2, north + 2}})
                nodes.push_back(p);
        }
        std::vector<double> least(nodes.size(), std::numeric_limits<double>::infinity());
        least[0] = 0;
        for (bool better = true; better;) {
            better = false;
            for (std::size_t i = 0; i < nodes.size(); ++i) {
                for (std::size_t j = 0; j < nodes.size(); ++j) {
                    const double length = least[i] + distance(nodes[i], nodes[j]);
                    if (!(length < least[j] - 1e-9) || std::any_of(boxes.begin(), boxes.end(), [&](const Box& box) {
                            return meets(nodes[i], nodes[j], box);
                        }))
                        continue;
                    least[j] = length;
                    better = true;
                }
            }
        }
        const Line way = WaysRound(areas).between(nodes[0], nodes[1]);
        ASSERT_GE(way.size(), 2U) << seed;
        round_about += way.size() > 2;
        if (way.size() == 2)
            EXPECT_LE(length_of(way), least[1] + 1e-9) << seed;  // a straight line may touch the margin
        else
            EXPECT_NEAR(length_of(way), least[1], 0.02) << seed;
        EXPECT_DOUBLE_EQ(length_of(WaysRound(areas).between(nodes[1], nodes[0])), length_of(way)) << seed;
    }
    EXPECT_GE(round_about, 40);
}

}  // namespace
}  // namespace subcrop::geo
