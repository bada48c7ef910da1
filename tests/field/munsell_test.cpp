#include "subcrop/field/munsell.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "field/figures.hpp"
#include "field/renotation.hpp"
#include "subcrop/field/colour_difference.hpp"

namespace subcrop::field {
namespace {

Munsell chip(const std::string& text) {
    const auto parsed = parse_munsell(text);
    EXPECT_TRUE(parsed) << text << ": " << parsed.message;
    return parsed.value->chips.at(0);
}

double euclidean(const Lab& first, const Lab& second) {
    return std::hypot(std::hypot(first.lightness - second.lightness, first.a - second.a), first.b - second.b);
}

TEST(Munsell, EveryReferenceChip) {
    std::size_t tabled = 0;
    std::size_t interpolated = 0;
    std::size_t neutral = 0;
    for (const auto& row : figures::read("munsell_chips.csv")) {
        const std::string& name = row.text("chip");
        if (name == "10Y 4/2") continue;  // on its own below
        const ChromaticityLuminance xy = to_chromaticity(chip(name));
        const Lab lab = to_lab(chip(name));
        const Lab expected{row.number("L_C"), row.number("a_C"), row.number("b_C")};
        const Lab of_library{row.number("npm_L_C"), row.number("npm_a_C"), row.number("npm_b_C")};
        EXPECT_NEAR(xy.luminance, row.number("Y_ASTM_pct"), 5.1e-5) << name;
        if (row.text("kind") == "interp") {
            ++interpolated;
            // Two good interpolators differ by up to 0.0024 and 0.45 over these chips.
            EXPECT_NEAR(xy.x, row.number("x_C"), 0.003) << name;
            EXPECT_NEAR(xy.y, row.number("y_C"), 0.003) << name;
            EXPECT_LT(euclidean(lab, expected), 0.5) << name;
            EXPECT_LT(euclidean(lab, of_library), 0.5) << name;
        } else {
            ++(chip(name).chroma == 0.0 ? neutral : tabled);
            EXPECT_NEAR(xy.x, row.number("x_C"), 1e-9) << name;
            EXPECT_NEAR(xy.y, row.number("y_C"), 1e-9) << name;
            EXPECT_LT(euclidean(lab, expected), 0.001) << name;  // printed to three decimals
            EXPECT_LT(euclidean(lab, of_library), 0.0025) << name;
        }
    }
    EXPECT_EQ(interpolated, 245u);
    EXPECT_EQ(tabled + neutral + interpolated, 717u);
}

TEST(Munsell, TheMisprintOf10Y42IsCorrected) {
    // Between 10Y 3/2 and 10Y 5/2 x falls evenly; the printed 0.3436 does not fit, the laboratory's later 0.3476 does.
    const double x3 = to_chromaticity(chip("10Y 3/2")).x;
    const double x4 = to_chromaticity(chip("10Y 4/2")).x;
    const double x5 = to_chromaticity(chip("10Y 5/2")).x;
    EXPECT_NEAR(x4, 0.3476, 1e-9);
    EXPECT_LT(x5, x4);
    EXPECT_LT(x4, x3);
    for (const auto& row : figures::read("munsell_chips.csv")) {
        if (row.text("chip") != "10Y 4/2") continue;
        const Lab of_library{row.number("npm_L_C"), row.number("npm_a_C"), row.number("npm_b_C")};
        EXPECT_LT(euclidean(to_lab(chip("10Y 4/2")), of_library), 0.0025);
    }
}

TEST(Munsell, PublishedInterpolations) {
    // 7.6P 8.9/2.2: manual of munsellinterpol 1.0 after Centore 2012; 4.2YR 8.1/5.3: manual of colour-science. Good
    // interpolators differ by about 3e-4 there.
    const ChromaticityLuminance purple = to_chromaticity({87.6, 8.9, 2.2});
    EXPECT_NEAR(purple.x, 0.3108972, 0.001);
    EXPECT_NEAR(purple.y, 0.3065102, 0.001);
    EXPECT_NEAR(purple.luminance, 74.61345, 1e-5);
    const ChromaticityLuminance orange = to_chromaticity({14.2, 8.1, 5.3});
    EXPECT_NEAR(orange.x, 0.38736945, 0.001);
    EXPECT_NEAR(orange.y, 0.35751656, 0.001);
    EXPECT_NEAR(orange.luminance, 59.362, 1e-3);
    const ChromaticityLuminance grey = to_chromaticity({0, 8.9, 0});
    EXPECT_EQ(grey.x, 0.31006);
    EXPECT_EQ(grey.y, 0.31616);
}

TEST(Munsell, ValueFunction) {
    for (const auto& row : figures::read("munsell_value.csv")) {
        const double value = row.number("V");
        EXPECT_NEAR(luminance_of_value(value), row.number("Y_ASTM_D1535"), 5.1e-7) << value;
        EXPECT_NEAR(to_lab({0, value, 0}).lightness, row.number("L_star_from_ASTM_Y"), 5.1e-5) << value;
        EXPECT_NEAR(value_of_luminance(luminance_of_value(value)), value, 1e-10) << value;
    }
    // Test values of colour-science, interpolated in a table: within 0.001.
    EXPECT_NEAR(value_of_luminance(12.23634268), 4.08244371, 1e-3);
    EXPECT_NEAR(value_of_luminance(22.89399987), 5.39132682, 1e-3);
    EXPECT_NEAR(value_of_luminance(6.29022535), 2.97619308, 1e-3);
    EXPECT_EQ(value_of_luminance(0.0), 0.0);
    EXPECT_NEAR(value_of_luminance(100.0), 10.0, 1e-6);
}

TEST(Munsell, EverywhereFinite) {
    for (double hue = 0.0; hue <= 100.0; hue += 1.25)
        for (const double value : {0.0, 1e-6, 0.1, 0.5, 1.0, 2.3, 5.0, 8.7, 9.0, 9.6, 10.0})
            for (const double chroma : {0.0, 0.3, 1.0, 2.0, 7.0, 20.0, 60.0}) {
                const Lab lab = to_lab({hue, value, chroma});
                const ChromaticityLuminance xy = to_chromaticity({hue, value, chroma});
                ASSERT_TRUE(std::isfinite(lab.lightness) && std::isfinite(lab.a) && std::isfinite(lab.b))
                    << hue << " " << value << "/" << chroma;
                ASSERT_TRUE(std::isfinite(xy.x) && std::isfinite(xy.y) && std::isfinite(xy.luminance))
                    << hue << " " << value << "/" << chroma;
                ASSERT_GE(xy.luminance, 0.0);
                ASSERT_LE(xy.x + xy.y, 1.0 + 1e-12);
            }
}

TEST(Munsell, RunsOnWithoutAStep) {
    // Across each step of the table a small change of notation is a small change of colour.
    const double small = 1e-7;
    for (double hue = 2.5; hue <= 100.0; hue += 2.5)
        for (double value = 1.0; value <= 9.0; value += 1.0)
            for (const double chroma : {2.0, 4.0, 8.0, 16.0}) {
                const Lab here = to_lab({hue, value, chroma});
                EXPECT_LT(euclidean(here, to_lab({hue - small, value, chroma})), 1e-4)
                    << hue << " " << value << "/" << chroma;
                EXPECT_LT(euclidean(here, to_lab({hue, value - small, chroma})), 1e-4)
                    << hue << " " << value << "/" << chroma;
                EXPECT_LT(euclidean(here, to_lab({hue, value, chroma - small})), 1e-4)
                    << hue << " " << value << "/" << chroma;
            }
}

TEST(Munsell, HueZeroAndHundredAreOne) {
    EXPECT_LT(euclidean(to_lab({0, 5, 6}), to_lab({100, 5, 6})), 1e-9);
    EXPECT_LT(euclidean(to_lab({0.5, 5, 6}), to_lab({99.5, 5, 6})), 1.5);
}

TEST(Munsell, BeyondTheTableInProportionToChroma) {
    // 10YR 5 is measured up to chroma 12.
    const Lab edge = to_lab({20, 5, 12});
    const Lab beyond = to_lab({20, 5, 18});
    EXPECT_EQ(max_measured_chroma(20, 5), 12.0);
    EXPECT_NEAR(beyond.a, 1.5 * edge.a, 1e-9);
    EXPECT_NEAR(beyond.b, 1.5 * edge.b, 1e-9);
    EXPECT_EQ(beyond.lightness, edge.lightness);
}

TEST(Munsell, SwatchesAgreeWithALibraryToOneStep) {
    // The library's colours are adapted to D65 as well.
    std::size_t exact = 0;
    std::size_t rows = 0;
    for (const auto& row : figures::read("munsell_chips.csv")) {
        if (row.text("chip") == "10Y 4/2") continue;
        const Srgb swatch = to_srgb(chip(row.text("chip")));
        const auto bits = std::strtoul(row.text("npm_srgb_hex_D65").c_str() + 1, nullptr, 16);
        const int red = static_cast<int>(bits >> 16);
        const int green = static_cast<int>((bits >> 8) & 255);
        const int blue = static_cast<int>(bits & 255);
        ++rows;
        exact += swatch.red == red && swatch.green == green && swatch.blue == blue;
        EXPECT_LE(std::abs(swatch.red - red), 1) << row.text("chip");
        EXPECT_LE(std::abs(swatch.green - green), 1) << row.text("chip");
        EXPECT_LE(std::abs(swatch.blue - blue), 1) << row.text("chip");
    }
    EXPECT_GT(exact, rows * 9 / 10);
    EXPECT_EQ(to_srgb({0, 10, 0}), (Srgb{255, 255, 255}));
    EXPECT_EQ(to_srgb({0, 0, 0}), (Srgb{0, 0, 0}));
}

TEST(Munsell, NearestChipOfABookChipIsItself) {
    for (const char* text :
         {"10R 4/6", "2.5YR 3/4", "5YR 4/6", "7.5YR 4/4", "10YR 5/6", "10YR 2/1", "2.5Y 6/2", "5Y 7/2", "N 4/",
          "N 2.5/", "10Y 4/1", "5GY 5/1", "5G 5/2", "5BG 4/1", "5B 6/1", "5PB 5/1"})
        EXPECT_EQ(notation(nearest_chip(to_lab(chip(text)))), text);
}

TEST(Munsell, NearestChipIsNearAndNeverFailsFarOut) {
    EXPECT_EQ(notation(nearest_chip(to_lab(chip("9YR 5/5.8")))), "10YR 5/6");
    for (const Lab& far : {Lab{0, 0, 0}, Lab{100, 0, 0}, Lab{50, 120, -120}, Lab{50, -120, 120}}) {
        const Munsell nearest = nearest_chip(far);
        EXPECT_GE(nearest.value, 2.0);
        EXPECT_LE(nearest.value, 8.0);
    }
}

}  // namespace
}  // namespace subcrop::field
