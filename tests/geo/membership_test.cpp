// Shares of the units about a place against the normal distribution function and against brute sampling.
#include <gmock/gmock.h>

#include <numeric>

#include "geo/invented_map.hpp"
#include "subcrop/geo/unit_map.hpp"

namespace subcrop::geo {
namespace {

UnitMap build(std::vector<model::MapPolygon> map, std::size_t units) {
    ProblemLog problems;
    return UnitMap(std::move(map), units, {}, problems);
}

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

// Two half planes, so wide that nothing else is in reach, the contact turned by `angle`.
UnitMap halves(double angle) {
    auto left = box_polygon(0, 1, -1e5, -1e5, 0, 1e5), right = box_polygon(1, 2, 0, -1e5, 1e5, 1e5);
    std::vector<model::MapPolygon> map{left, right};
    change_points(map, [&](Point& p) {
        p = {p.x * std::cos(angle) - p.y * std::sin(angle), p.x * std::sin(angle) + p.y * std::cos(angle)};
    });
    return build(map, 2);
}

TEST(Membership, BesideAStraightContactIsTheNormalDistribution) {
    for (const double angle : {0.0, 0.3, 0.7853981633974483, 1.5707963267948966, 2.9}) {
        const UnitMap map = halves(angle);
        for (const double sd : {0.5, 25.0, 300.0}) {
            for (double away = -5; away <= 5; away += 0.05) {
                std::vector<double> shares(2);
                const Point place{away * sd * std::cos(angle) - 13 * std::sin(angle),
                                  away * sd * std::sin(angle) + 13 * std::cos(angle)};
                map.membership(place, sd, shares);
                ASSERT_NEAR(shares[1], normal_cdf(away), 1e-3) << away << " sd, contact at " << angle;
                ASSERT_NEAR(shares[0] + shares[1], 1, 1e-12);
            }
        }
    }
}

TEST(Membership, FarFromEveryContactIsCertain) {
    const UnitMap map = halves(0.2);
    std::vector<double> shares(2);
    map.membership({-5000, 0}, 30, shares);
    EXPECT_THAT(shares, testing::ElementsAre(1, 0));
    map.membership({-5, 0}, 0, shares);
    EXPECT_THAT(shares, testing::ElementsAre(1, 0));
}

TEST(Membership, SharesLackWhatLiesOffTheMap) {
    const UnitMap map = build({box_polygon(0, 1, 0, 0, 1000, 1000)}, 1);
    for (const double away : {-2.0, -1.0, 0.0, 0.5, 3.0}) {
        std::vector<double> shares(1);
        map.membership({10 * away, 500}, 10, shares);
        EXPECT_NEAR(shares[0], normal_cdf(away), 1e-3);
    }
    std::vector<double> shares(1);
    map.membership({-5000, 500}, 10, shares);
    EXPECT_EQ(shares[0], 0);
}

// Four units meet: the product of two normal distributions. Strips along the nearest contact's normal leave quadrature
// for the other contact: half a strip, 1/24, at most for one contact.
TEST(Membership, InACornerWithinHalfAStrip) {
    const UnitMap map = build({box_polygon(0, 1, -1e4, -1e4, 0, 0), box_polygon(1, 2, 0, -1e4, 1e4, 0),
                               box_polygon(2, 3, -1e4, 0, 0, 1e4), box_polygon(3, 4, 0, 0, 1e4, 1e4)},
                              4);
    double squares = 0;
    int count = 0;
    for (double x = -2.45; x < 3; x += 0.1) {
        for (double y = -2.43; y < 3; y += 0.1) {
            std::vector<double> shares(4);
            map.membership({20 * x, 20 * y}, 20, shares);
            const double east = normal_cdf(x), north = normal_cdf(y);
            const double truth[] = {(1 - east) * (1 - north), east * (1 - north), (1 - east) * north, east * north};
            for (int k = 0; k < 4; ++k) {
                ASSERT_NEAR(shares[k], truth[k], 1.0 / 24 + 1e-3) << x << ' ' << y;
                squares += std::pow(shares[k] - truth[k], 2);
                ++count;
            }
            ASSERT_NEAR(std::accumulate(shares.begin(), shares.end(), 0.0), 1, 1e-12);
        }
    }
    EXPECT_LT(std::sqrt(squares / count), 0.015);
}

TEST(Membership, OnARoughMapAgreesWithSampling) {
    const auto polygons = invent_map({.columns = 12, .rows = 12, .levels = 4, .units = 4, .islands = true, .seed = 2});
    const UnitMap map = build(polygons, 4);
    std::mt19937_64 random(5);
    std::uniform_real_distribution<double> share(0, 1);
    std::normal_distribution<double> normal;
    const Box box = map.extent();
    double squares = 0;
    const int places = 60, draws = 20000;
    for (int i = 0; i < places; ++i) {
        const Point place{box.min_x + share(random) * box.width(), box.min_y + share(random) * box.height()};
        const double sd = i % 2 ? 12 : 30;
        std::vector<double> shares(4), truth(4);
        map.membership(place, sd, shares);
        for (int k = 0; k < draws; ++k) {
            const auto unit = map.unit_at({place.x + sd * normal(random), place.y + sd * normal(random)});
            if (unit != model::no_unit) truth[static_cast<std::size_t>(unit)] += 1.0 / draws;
        }
        for (std::size_t u = 0; u < 4; ++u) {
            ASSERT_NEAR(shares[u], truth[u], 0.06) << place.x << ' ' << place.y << " sd " << sd;
            squares += std::pow(shares[u] - truth[u], 2) / (places * 4);
        }
    }
    EXPECT_LT(std::sqrt(squares), 0.015);
}

TEST(Membership, MovesWithTheMap) {
    const InventedMap plan{.columns = 8, .rows = 8, .levels = 3, .units = 3, .seed = 9, .origin = {0, 0}};
    auto turned = invent_map(plan), plain = invent_map(plan);
    const auto move = [](Point p) { return Point{3000 - 0.6 * p.x - 0.8 * p.y, -2000 + 0.8 * p.x - 0.6 * p.y}; };
    change_points(turned, [&](Point& p) { p = move(p); });
    const UnitMap one = build(plain, 3), two = build(turned, 3);
    std::mt19937_64 random(5);
    std::uniform_real_distribution<double> share(-0.1, 1.1);
    for (int i = 0; i < 500; ++i) {
        const Point place{800 * share(random), 800 * share(random)};
        std::vector<double> a(3), b(3);
        one.membership(place, 20, a);
        two.membership(move(place), 20, b);
        for (int u = 0; u < 3; ++u) ASSERT_NEAR(a[u], b[u], 1e-6) << place.x << ' ' << place.y;
    }
}

// Two places displaced by one and the same error: across a straight contact the error must lie between their distances
// from it.
TEST(Membership, OfTwoPlacesTogether) {
    for (const double angle : {0.0, 0.7, 2.5}) {
        const UnitMap map = halves(angle);
        const auto place = [&](double across) {
            return Point{across * std::cos(angle) - 7 * std::sin(angle),
                         across * std::sin(angle) + 7 * std::cos(angle)};
        };
        for (const double here : {-60.0, -10.0, 3.0, 40.0}) {
            for (const double there : {-20.0, 1.0, 20.0, 90.0}) {
                double all = 0, west = 0, west_east = 0;
                for (const JointUnits& joint :
                     map.joint_membership(std::vector<Point>{place(here), place(there)}, 25)) {
                    all += joint.share;
                    if (joint.units[0] == 0) west += joint.share;
                    if (joint.units[0] == 0 && joint.units[1] == 1) west_east += joint.share;
                }
                EXPECT_NEAR(all, 1, 1e-12);
                EXPECT_NEAR(west, normal_cdf(-here / 25), 1e-3);
                EXPECT_NEAR(west_east, std::max(0.0, normal_cdf(-here / 25) - normal_cdf(-there / 25)), 1e-3)
                    << here << ' ' << there;
            }
        }
    }
}

}  // namespace
}  // namespace subcrop::geo
