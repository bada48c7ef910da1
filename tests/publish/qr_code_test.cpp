// What the codes say is read by another program in tests/browser/qr_codes.py.
#include "publish/field/qr_code.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

namespace subcrop::publish {
namespace {

// RFC 5870: latitude first, minus for south and west, no sign for a zero.
TEST(QrCode, PlacesAreWrittenAsTheRfcSays) {
    EXPECT_EQ(geo_uri({3.661553, 56.242851}), "geo:56.242851,3.661553");
    EXPECT_EQ(geo_uri({-123.66155349, -6.2428515001}), "geo:-6.242852,-123.661553");
    EXPECT_EQ(geo_uri({-1e-8, 0}), "geo:0.000000,0.000000");
}

// ISO/IEC 18004: version 2 has 25 modules to the side and holds 26 bytes with error correction M. Three corners bear
// squares of 7 x 7 modules; white is wanted for four modules about all.
TEST(QrCode, IsDrawnAtItsSizeWithAMargin) {
    const std::string svg = qr_code("geo:-56.242851,-123.661553", 16);
    if (svg.empty()) GTEST_SKIP() << "built without libqrencode";
    std::smatch size;
    ASSERT_TRUE(std::regex_search(
        svg, size, std::regex("width=\"([0-9.]+)mm\" height=\"([0-9.]+)mm\" viewBox=\"0 0 ([0-9]+) ([0-9]+)\"")));
    EXPECT_EQ(size[1], size[2]);
    EXPECT_EQ(size[3], "33");
    EXPECT_EQ(size[4], "33");
    EXPECT_NEAR(std::stod(size[1]) * 25 / 33, 16, 0.01);
    for (const char* upper_edge : {"M4 4h7v", "M22 4h7v", "M4 22h7v"}) EXPECT_THAT(svg, testing::HasSubstr(upper_edge));
    EXPECT_THAT(svg, testing::Not(testing::ContainsRegex("M([0-3]|29|3[0-9]) ")));
}

TEST(QrCode, TooLongAContentHasNone) { EXPECT_EQ(qr_code(std::string(5000, 'a'), 16), ""); }

}  // namespace
}  // namespace subcrop::publish
