// Beds from strikes and dips: planes and a fold whose heights are known, errors by trigonometry.
#include "subcrop/geo/bed_surface.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace subcrop::geo {
namespace {

constexpr double degree = std::numbers::pi / 180;

TEST(BedSurface, APlaneFallsAtItsDipToTheRightOfItsStrike) {
    // Strike 30 dips towards 120: 100 m that way the bed lies 100 tan 20 = 36.4 m lower, along the strike not at all.
    const std::vector<BedAttitude> attitudes{{{0, 0}, 30, 20, 1}, {{900, 100}, 30, 20, 1}, {{300, 1200}, 30, 20, 1}};
    const BedSurface beds(attitudes, {0, 1000});
    const auto towards = [](double azimuth, double d) {
        return Point{500 + d * std::sin(azimuth * degree), 500 + d * std::cos(azimuth * degree)};
    };
    const double here = beds.height_m({500, 500});
    EXPECT_NEAR(beds.height_m(towards(120, 100)) - here, -36.397, 0.1);
    EXPECT_NEAR(beds.height_m(towards(30, 100)) - here, 0, 0.1);
    EXPECT_NEAR(beds.gradient({500, 500}).x, -std::tan(20 * degree) * std::sin(120 * degree), 1e-3);
    EXPECT_NEAR(beds.gradient({500, 500}).y, -std::tan(20 * degree) * std::cos(120 * degree), 1e-3);
}

TEST(BedSurface, TheErrorOfAHeightGrowsWithTheDistance) {
    // A level bed known to 5 degrees: over 400 m its height is known to 400 tan 5 = 35 m.
    const BedSurface beds(std::vector<BedAttitude>{{{0, 0}, 0, 0, 5}}, {0, 1000});
    const std::vector<Point> places{{0, 0}, {400, 0}, {0, -800}};
    const auto c = beds.covariance(places);
    const auto sd = [&](std::size_t i, std::size_t j) {
        return std::sqrt(c[i * 3 + i] + c[j * 3 + j] - 2 * c[i * 3 + j]);
    };
    EXPECT_NEAR(sd(0, 1), 400 * 5 * degree, 0.5);
    EXPECT_NEAR(sd(0, 2), 800 * 5 * degree, 1);
}

TEST(BedSurface, FollowsAFoldBetweenItsAttitudes) {
    // b = 60 sin(2 pi x / 4000): dips up to 5.4 degrees, east then west.
    const auto bed = [](double x) { return 60 * std::sin(2 * std::numbers::pi * x / 4000); };
    std::vector<BedAttitude> attitudes;
    for (double x = 0; x <= 4000; x += 500) {
        const double slope = 60 * 2 * std::numbers::pi / 4000 * std::cos(2 * std::numbers::pi * x / 4000);
        for (const double y : {0.0, 1500.0}) {
            attitudes.push_back({{x, y}, slope < 0 ? 0.0 : 180.0, std::atan(std::abs(slope)) / degree, 1});
        }
    }
    const BedBend bend = likeliest_bend(attitudes);
    EXPECT_GT(bend.bend, 0);
    const BedSurface beds(attitudes, bend);
    for (const double x : {250.0, 1250.0, 2100.0, 3300.0}) {
        EXPECT_NEAR(beds.height_m({x, 700}) - beds.height_m({0, 700}), bed(x) - bed(0), 10)
            << x;  // attitudes 500 m apart
    }
}

TEST(BedSurface, AnAttitudeReadTheWrongWayRoundIsFound) {
    std::vector<BedAttitude> attitudes;
    for (int i = 0; i < 9; ++i) {
        attitudes.push_back(
            {{700.0 * (i % 3), 650.0 * (i / 3)}, 40 + 5.0 * ((i * 7) % 5 - 2), 20 + 2.0 * ((i * 5) % 3 - 1), 4});
    }
    EXPECT_THAT(attitudes_at_odds(attitudes), testing::IsEmpty());
    attitudes[5].strike_deg += 180;
    EXPECT_THAT(attitudes_at_odds(attitudes), testing::ElementsAre(5));
    EXPECT_THAT(attitudes_at_odds(std::span(attitudes).subspan(4, 3)),
                testing::IsEmpty());  // three cannot be told apart
}

}  // namespace
}  // namespace subcrop::geo
