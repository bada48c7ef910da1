#include "subcrop/field/texture.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include "field/figures.hpp"

namespace subcrop::field {
namespace {

TextureClass class_of(const std::string& text) {
    const auto parsed = parse_texture(text);
    EXPECT_TRUE(parsed) << text;
    return parsed.value->texture_class;
}

TEST(Texture, PointsOnLimitsAndCorners) {
    const auto rows = figures::read("texture_points.csv");
    ASSERT_EQ(rows.size(), 80u);
    for (const auto& row : rows) {
        const GrainSize grain_size{row.number("sand"), row.number("silt"), row.number("clay")};
        EXPECT_EQ(name(classify(grain_size)), row.text("name"))
            << row.text("sand") << " " << row.text("silt") << " " << row.text("clay");
        EXPECT_EQ(code(classify(grain_size)), row.text("fieldbook_code"));
    }
}

TEST(Texture, DecimalsThatAreNoBinaryFractions) {
    const auto rows = figures::read("texture_float_traps.csv");
    ASSERT_EQ(rows.size(), 154u);
    for (const auto& row : rows) {
        const double sand = row.number("sand");
        const double clay = row.number("clay");
        const bool computed = row.text("how").starts_with("silt=");
        const GrainSize grain_size{sand, computed ? 100.0 - sand - clay : row.number("silt"), clay};
        EXPECT_EQ(classify(grain_size), class_of(row.text("true_class")))
            << sand << " " << row.text("silt") << " " << clay;
    }
}

/// Counts classes on a lattice of `steps` steps to 100 %.
std::array<long, texture_class_count> lattice_counts(int steps) {
    std::array<long, texture_class_count> counts{};
    for (int sand = 0; sand <= steps; ++sand)
        for (int silt = 0; silt <= steps - sand; ++silt) {
            const auto percent = [&](int n) { return 100.0 * n / steps; };
            ++counts[static_cast<std::size_t>(classify({percent(sand), percent(silt), percent(steps - sand - silt)}))];
        }
    return counts;
}

TEST(Texture, CountsOnTheLatticeOfOnePercent) {
    const auto counts = lattice_counts(100);
    const auto rows = figures::read("texture_lattice_counts_1pct.csv");
    ASSERT_EQ(rows.size(), texture_class_count);
    for (const auto& row : rows)
        EXPECT_EQ(static_cast<double>(counts[static_cast<std::size_t>(class_of(row.text("class")))]),
                  row.number("points_on_1pct_lattice_5151"))
            << row.text("class");
}

TEST(Texture, CountsOnTheLatticeOfATenthOfAPercent) {
    const auto counts = lattice_counts(1000);
    const auto rows = figures::read("texture_lattice_counts.csv");
    ASSERT_EQ(rows.size(), texture_class_count);
    for (const auto& row : rows)
        EXPECT_EQ(static_cast<double>(counts[static_cast<std::size_t>(class_of(row.text("class")))]),
                  row.number("points_on_0.1pct_lattice_501501"))
            << row.text("class");
}

TEST(Texture, CentroidsOfTheRegionsAreOfTheirClass) {
    for (const auto& row : figures::read("texture_polygons.csv")) {
        const GrainSize centroid{row.number("centroid_sand"), row.number("centroid_silt"),
                                 100.0 - row.number("centroid_sand") - row.number("centroid_silt")};
        // Sandy loam and clay wrap around others, but hold their own centroids.
        EXPECT_EQ(classify(centroid), class_of(row.text("class"))) << row.text("class");
    }
}

TEST(GrainSizeCoordinates, PublishedAndLibraryFigures) {
    const auto rows = figures::read("compositions.csv");
    ASSERT_EQ(rows.size(), 5u);
    for (const auto& row : rows) {
        const GrainSize grain_size{100.0 * row.number("sand"), 100.0 * row.number("silt"), 100.0 * row.number("clay")};
        const auto coordinates = ilr(grain_size);
        EXPECT_NEAR(coordinates[0], row.number("ilr1_egozcue"), 1e-9) << row.text("name");
        EXPECT_NEAR(coordinates[1], row.number("ilr2_egozcue"), 1e-9) << row.text("name");
        // The fractions stand there to ten decimals.
        const GrainSize back = from_ilr(coordinates);
        EXPECT_NEAR(back.sand, grain_size.sand, 1e-8);
        EXPECT_NEAR(back.silt, grain_size.silt, 1e-8);
        EXPECT_NEAR(back.clay, grain_size.clay, 1e-8);
    }
}

TEST(GrainSizeCoordinates, DistancesAreAitchisons) {
    // Between sandy loam 65/25/10 and silt loam 20/65/15, and clay 20/20/60: from centred log-ratios, python3-skbio
    // 0.5.8.
    const auto distance = [](const GrainSize& a, const GrainSize& b) {
        const auto first = ilr(a);
        const auto second = ilr(b);
        return std::hypot(first[0] - second[0], first[1] - second[1]);
    };
    EXPECT_NEAR(distance({65, 25, 10}, {20, 65, 15}), 1.5670198762, 1e-9);
    EXPECT_NEAR(distance({65, 25, 10}, {20, 20, 60}), 2.1444656212, 1e-9);
}

TEST(GrainSizeCoordinates, ZerosAreRaisedToHalfAPercent) {
    // One zero: 0.5, and 99.5 shared in proportion.
    EXPECT_EQ(ilr({80, 20, 0}), ilr({79.6, 19.9, 0.5}));
    // Two zeros.
    EXPECT_EQ(ilr({100, 0, 0}), ilr({99, 0.5, 0.5}));
    EXPECT_EQ(ilr({0, 100, 0}), ilr({0.5, 99, 0.5}));
    EXPECT_EQ(ilr({0, 0, 100}), ilr({0.5, 0.5, 99}));
    // Lowering the others must not take one of them below.
    EXPECT_EQ(ilr({99.5, 0.5, 0}), ilr({99, 0.5, 0.5}));
    const GrainSize far = from_ilr({2000.0, -2000.0});
    EXPECT_TRUE(std::isfinite(far.sand) && std::isfinite(far.silt) && std::isfinite(far.clay));
    EXPECT_NEAR(far.sand + far.silt + far.clay, 100.0, 1e-9);
}

TEST(ClassDistribution, AgreesWithSumsOverALattice) {
    // Independent of the regions' corners: cells of 0.1 %, each put into a class by `classify` at its middle.
    constexpr int steps = 1000;
    struct Sums {
        double n = 0, y1 = 0, y2 = 0, y11 = 0, y12 = 0, y22 = 0;
    };
    std::array<Sums, texture_class_count> sums{};
    for (int sand = 0; sand < steps; ++sand)
        for (int clay = 0; clay < steps - sand; ++clay)
            // Each square of the lattice below the diagonal is two triangles, on the diagonal one; their centroids.
            for (const int half : {1, 2}) {
                if (half == 2 && sand + clay + 2 > steps) continue;
                const double s = 100.0 * (sand + half / 3.0) / steps;
                const double c = 100.0 * (clay + half / 3.0) / steps;
                const GrainSize grain_size{s, 100.0 - s - c, c};
                const auto [y1, y2] = ilr(grain_size);
                Sums& of_class = sums[static_cast<std::size_t>(classify(grain_size))];
                of_class.n += 1;
                of_class.y1 += y1;
                of_class.y2 += y2;
                of_class.y11 += y1 * y1;
                of_class.y12 += y1 * y2;
                of_class.y22 += y2 * y2;
            }
    for (std::size_t i = 0; i < texture_class_count; ++i) {
        const Sums& s = sums[i];
        const double m1 = s.y1 / s.n;
        const double m2 = s.y2 / s.n;
        const IlrDistribution& exact = class_distribution(static_cast<TextureClass>(i));
        const std::string label(name(static_cast<TextureClass>(i)));
        EXPECT_NEAR(exact.mean[0], m1, 2e-3) << label;
        EXPECT_NEAR(exact.mean[1], m2, 2e-3) << label;
        EXPECT_NEAR(exact.covariance[0], s.y11 / s.n - m1 * m1, 2e-3) << label;
        EXPECT_NEAR(exact.covariance[1], s.y12 / s.n - m1 * m2, 2e-3) << label;
        EXPECT_NEAR(exact.covariance[2], s.y22 / s.n - m2 * m2, 2e-3) << label;
        EXPECT_GT(exact.covariance[0] * exact.covariance[2] - exact.covariance[1] * exact.covariance[1], 0.0) << label;
    }
}

TEST(ClassDistribution, MeansFallIntoTheirClass) {
    for (std::size_t i = 0; i < texture_class_count; ++i) {
        const auto texture_class = static_cast<TextureClass>(i);
        if (texture_class == TextureClass::silt_loam) continue;  // its region bends around the corner of silt
        EXPECT_EQ(classify(from_ilr(class_distribution(texture_class).mean)), texture_class) << name(texture_class);
    }
}

TEST(Closure, TwoGivenTheThirdIsTheRest) {
    const auto closed = close_grain_size(65.0, std::nullopt, 10.0);
    ASSERT_TRUE(closed);
    EXPECT_EQ(closed.value->silt, 25.0);
    EXPECT_TRUE(closed.message.empty());
    EXPECT_EQ(close_grain_size(40.0, 60.0, std::nullopt).value->clay, 0.0);
    EXPECT_EQ(close_grain_size(std::nullopt, 60.0, 10.0).value->sand, 30.0);
}

TEST(Closure, SumsNearAHundredAreRescaled) {
    const auto exact = close_grain_size(87.8, 6.6, 5.6);
    ASSERT_TRUE(exact);
    EXPECT_EQ(exact.value->sand, 87.8);
    EXPECT_TRUE(exact.message.empty());

    const auto rounding = close_grain_size(33.0, 33.0, 33.0);
    ASSERT_TRUE(rounding);
    EXPECT_NEAR(rounding.value->sand, 100.0 / 3.0, 1e-12);
    EXPECT_TRUE(rounding.message.empty());

    const auto off = close_grain_size(60.0, 30.0, 13.0);
    ASSERT_TRUE(off);
    EXPECT_NEAR(off.value->sand + off.value->silt + off.value->clay, 100.0, 1e-12);
    EXPECT_EQ(off.message, "sand 60, silt 30, clay 13 sum to 103; brought to 100");
    EXPECT_TRUE(close_grain_size(50.0, 30.0, 15.0));
    EXPECT_TRUE(close_grain_size(50.0, 35.0, 20.0));
}

TEST(Closure, AnythingElseIsRefused) {
    struct Case {
        std::optional<double> sand, silt, clay;
        const char* message;
        const char* remedy;
    };
    const auto none = std::nullopt;
    constexpr double nan = std::numeric_limits<double>::quiet_NaN();
    const Case cases[] = {
        {10.0, 20.0, 7.0, "sand 10, silt 20, clay 7 sum to 37, not to 100",
         "Check the three percentages; a sum from 95 to 105 is brought to 100."},
        {60.0, 40.0, 12.0, "sand 60, silt 40, clay 12 sum to 112, not to 100",
         "Check the three percentages; a sum from 95 to 105 is brought to 100."},
        {0.65, 0.25, 0.1, "sand 0.65, silt 0.25, clay 0.1 sum to 1, not to 100",
         "These look like fractions of one: write percent."},
        {0.0, 0.0, 0.0, "sand 0, silt 0, clay 0 sum to 0, not to 100",
         "Check the three percentages; a sum from 95 to 105 is brought to 100."},
        {70.0, none, 45.0, "sand 70, clay 45 sum to 115, above 100", "Check the two percentages."},
        {none, none, 20.0, "only one of sand, silt and clay is given (clay 20)",
         "Give at least two of the three in percent."},
        {none, none, none, "neither sand, silt nor clay is given", "Give at least two of the three in percent."},
        {-5.0, 80.0, 25.0, "sand is -5 %, below 0", "Leave the field empty where it was not measured."},
        {650.0, 25.0, none, "sand is 650 %, above 100", "Write percent of the fine earth by mass."},
        {nan, 25.0, 10.0, "the percentage of sand is not a number", "Write it in percent, or leave it empty."},
        {20.0, 25.0, std::numeric_limits<double>::infinity(), "the percentage of clay is not a number",
         "Write it in percent, or leave it empty."},
    };
    for (const Case& c : cases) {
        const auto closed = close_grain_size(c.sand, c.silt, c.clay);
        EXPECT_FALSE(closed) << c.message;
        EXPECT_EQ(closed.message, c.message);
        EXPECT_EQ(closed.remedy, c.remedy);
    }
}

}  // namespace
}  // namespace subcrop::field
