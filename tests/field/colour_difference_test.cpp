#include "subcrop/field/colour_difference.hpp"

#include <gtest/gtest.h>

#include "field/figures.hpp"

namespace subcrop::field {
namespace {

TEST(ColourDifference, PairsOfSharmaWuAndDalalInBothOrders) {
    const auto rows = figures::read("ciede2000.csv");
    ASSERT_EQ(rows.size(), 34u);
    for (const auto& row : rows) {
        const Lab first{row.number("L1"), row.number("a1"), row.number("b1")};
        const Lab second{row.number("L2"), row.number("a2"), row.number("b2")};
        // Published to four decimals.
        EXPECT_NEAR(colour_difference(first, second), row.number("dE00_published"), 5.1e-5)
            << "pair " << row.text("pair");
        EXPECT_NEAR(colour_difference(second, first), row.number("dE00_published"), 5.1e-5)
            << "pair " << row.text("pair");
    }
}

TEST(ColourDifference, IsZeroBetweenAColourAndItself) {
    EXPECT_EQ(colour_difference({50, 6, 25}, {50, 6, 25}), 0.0);
    EXPECT_EQ(colour_difference({0, 0, 0}, {0, 0, 0}), 0.0);
}

TEST(ColourDifference, GreysDifferByLightnessAlone) {
    // At a mean lightness of 50 the lightness scale is 1.
    EXPECT_NEAR(colour_difference({45, 0, 0}, {55, 0, 0}), 10.0, 1e-12);
}

}  // namespace
}  // namespace subcrop::field
