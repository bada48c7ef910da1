#include "geo/orientation.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>

namespace subcrop::geo {
namespace {

// Sign of the cross product for points with whole-number coordinates, in 128 bits without rounding.
int whole_number_sign(Point a, Point b, Point p) {
    __extension__ using Wide = __int128;
    const auto whole = [](double v) { return static_cast<Wide>(static_cast<std::int64_t>(v)); };
    const Wide d =
        (whole(a.x) - whole(p.x)) * (whole(b.y) - whole(p.y)) - (whole(a.y) - whole(p.y)) * (whole(b.x) - whole(p.x));
    return d > 0 ? 1 : d < 0 ? -1 : 0;
}

// Points so near a long line that the rounded product is often wrong.
TEST(Orientation, IsExactNearALine) {
    const Point a{4503599627370495, 12345678901234}, b{-4503599627370493, -98765432109876};
    int naive_wrong = 0;
    for (int i = -200; i <= 200; ++i) {
        const double share = i / 200.0;
        const double x = std::round(b.x + (a.x - b.x) * share), y = std::round(b.y + (a.y - b.y) * share);
        for (int dy = -1; dy <= 1; ++dy) {
            const Point p{x, y + dy};
            const int truth = whole_number_sign(a, b, p);
            ASSERT_EQ(orientation(a, b, p), truth) << i << ' ' << dy;
            ASSERT_EQ(orientation(b, a, p), -truth);
            const double naive = (a.x - p.x) * (b.y - p.y) - (a.y - p.y) * (b.x - p.x);
            naive_wrong += (naive > 0 ? 1 : naive < 0 ? -1 : 0) != truth;
        }
    }
    EXPECT_GT(naive_wrong, 0) << "the cases are too easy";
}

TEST(Orientation, KnowsPointsOnTheLine) {
    // Coordinates as they occur in a UTM zone; the middle is exact in binary.
    const Point a{500000.125, 5300000.5}, b{500010.625, 5300020.25};
    const Point middle{(a.x + b.x) / 2, (a.y + b.y) / 2};
    EXPECT_EQ(orientation(a, b, middle), 0);
    EXPECT_EQ(orientation(a, b, a), 0);
    EXPECT_EQ(orientation(a, b, {middle.x, std::nextafter(middle.y, 1e9)}), 1);
    EXPECT_EQ(orientation(a, b, {middle.x, std::nextafter(middle.y, 0)}), -1);
}

}  // namespace
}  // namespace subcrop::geo
