#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <set>

#include "subcrop/field/grain_size.hpp"
#include "subcrop/field/jar_test.hpp"
#include "subcrop/model/reduced.hpp"

namespace subcrop::model {
namespace {

using testing::HasSubstr;

/// Horizons of one stop, with textures only.
struct Textures {
    Survey survey;
    ProblemLog problems;

    Textures() {
        survey.texts = std::make_shared<TextPool>();
        survey.horizon_source = "horizons.csv";
        survey.stops.resize(1);
        survey.stops[0].position = {100, 200};
    }
    Horizon& add(const char* texture = "") {
        Horizon horizon;
        horizon.row = static_cast<std::int64_t>(survey.horizons.size() + 1);
        horizon.texture = survey.texts->intern(texture);
        survey.horizons.push_back(horizon);
        survey.stops[0].horizon_count = static_cast<std::uint32_t>(survey.horizons.size());
        return survey.horizons.back();
    }
    Horizon& add_jar(const char* texture, double sand, double silt, double clay) {
        Horizon& horizon = add(texture);
        horizon.jar_sand_mm = sand;
        horizon.jar_silt_mm = silt;
        horizon.jar_clay_mm = clay;
        return horizon;
    }
    Horizon& add_measured(const char* texture, double sand, double silt, double clay) {
        Horizon& horizon = add(texture);
        horizon.sand_pct = sand;
        horizon.silt_pct = silt;
        horizon.clay_pct = clay;
        return horizon;
    }
    std::vector<TextureValue> read() {
        const Reduced reduced = reduce(survey, problems);
        std::vector<TextureValue> values;
        for (const std::int32_t code : reduced.texture.codes)
            values.push_back(reduced.texture.values.at(static_cast<std::size_t>(code)));
        return values;
    }
};

TEST(Texture, AClassAloneIsItsRegion) {
    Textures textures;
    textures.add("silt loam");
    textures.add("SiL");
    const auto values = textures.read();
    const auto& region = field::class_distribution(field::TextureClass::silt_loam);
    for (const TextureValue& value : values) {
        EXPECT_EQ(value.name, "SIL");
        EXPECT_EQ(value.distribution.mean, region.mean);
        EXPECT_EQ(value.distribution.covariance, region.covariance);
        EXPECT_FALSE(value.measured);
    }
    EXPECT_EQ(textures.problems.size(), 0u);
}

TEST(Texture, MeasuredFractionsKeepTheirErrorAndAClassNamedFromThemAddsNothing) {
    Textures textures;
    textures.add_measured("", 36, 40.3, 23.7);
    textures.add_measured("L", 36, 40.3, 23.7);
    const auto values = textures.read();
    const auto y = field::ilr({36, 40.3, 23.7});
    EXPECT_EQ(values[0].name, "L");
    EXPECT_TRUE(values[0].measured);
    EXPECT_NEAR(values[0].distribution.mean[0], y[0], 0.025 + 1e-9);
    EXPECT_NEAR(values[0].distribution.mean[1], y[1], 0.025 + 1e-9);
    EXPECT_NEAR(values[0].distribution.covariance[0], 0.15 * 0.15, 1e-12);
    EXPECT_EQ(values[0].distribution.mean, values[1].distribution.mean);
    EXPECT_EQ(values[0].distribution.covariance, values[1].distribution.covariance);
}

TEST(Texture, FeelAndJarTogetherAreBetween) {
    Textures textures;
    textures.add("SIL");
    textures.add_jar("", 10, 40, 25);
    textures.add_jar("SIL", 10, 40, 25);
    const auto values = textures.read();
    const auto& jar = values[1].distribution;
    const auto& both = values[2].distribution;
    EXPECT_LE(both.covariance[0], jar.covariance[0]);
    EXPECT_LE(both.covariance[2], jar.covariance[2]);
    const std::array sources{field::feel_distribution(field::TextureClass::silt_loam),
                             *field::jar_grain_size({.sand_mm = 10, .silt_mm = 40, .clay_mm = 25}).value};
    const auto exact = field::combine(sources);
    EXPECT_NEAR(both.mean[0], exact.mean[0], 0.025 + 1e-9);
    EXPECT_NEAR(both.mean[1], exact.mean[1], 0.025 + 1e-9);
    EXPECT_EQ(textures.problems.size(), 0u);
}

TEST(Texture, AJarThatDoesNotAgreeIsNoted) {
    Textures textures;
    textures.add_jar("SIC", 60, 20, 3);
    const auto values = textures.read();
    const auto problems = textures.problems.sorted();
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].severity, Severity::note);
    EXPECT_EQ(problems[0].source, "horizons.csv");
    EXPECT_EQ(problems[0].row, 1);
    EXPECT_EQ(problems[0].field, "texture");
    EXPECT_EQ(problems[0].value, "SIC");
    EXPECT_EQ(problems[0].position, (Point{100, 200}));
    EXPECT_THAT(problems[0].message,
                testing::MatchesRegex("texture by feel SIC does not agree with the jar \\([0-9]+ % (sand|clay)\\)"));
    EXPECT_EQ(
        problems[0].remedy,
        "Check the class by feel and the jar's layers; until one is corrected both are used, with a wider error.");
    // Wider than the product of the two.
    const std::array sources{field::feel_distribution(field::TextureClass::silty_clay),
                             *field::jar_grain_size({.sand_mm = 60, .silt_mm = 20, .clay_mm = 3}).value};
    EXPECT_GT(values[0].distribution.covariance[0], 1.5 * field::combine(sources).covariance[0]);
}

TEST(Texture, MeasuredFractionsThatDoNotAgreeAreNotedInThePlural) {
    Textures textures;
    textures.add_measured("", 70, 22, 8).jar_sand_mm = 2;
    textures.survey.horizons[0].jar_silt_mm = 10;
    textures.survey.horizons[0].jar_clay_mm = 60;
    textures.read();
    const auto problems = textures.problems.sorted();
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_THAT(problems[0].message,
                testing::MatchesRegex("the measured fractions \\(.*\\) do not agree with the jar \\(.*\\)"));
    EXPECT_EQ(problems[0].field, "sand_pct, silt_pct, clay_pct");
    EXPECT_EQ(problems[0].value, "70, 22, 8");
}

TEST(Texture, ClayAloneIsAGuessByHand) {
    Textures textures;
    textures.add("CL");
    textures.add("CL").clay_pct = 30;
    const auto values = textures.read();
    EXPECT_EQ(values[1].name, "CL");
    EXPECT_FALSE(values[1].measured);
    const auto problems = textures.problems.sorted();
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].severity, Severity::note);
    EXPECT_EQ(problems[0].row, 2);
    EXPECT_EQ(problems[0].message, "clay stands alone; read as estimated by hand, with a standard error of 5 %");
}

TEST(Texture, AJarThatCannotBeIsAWarningAndTheClassIsKept) {
    Textures textures;
    textures.add("CL").jar_sand_mm = 20;
    const auto values = textures.read();
    EXPECT_EQ(values[0].name, "CL");
    const auto problems = textures.problems.sorted();
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].severity, Severity::warning);
    EXPECT_EQ(problems[0].field, "jar_sand_mm, jar_silt_mm, jar_clay_mm");
    EXPECT_EQ(problems[0].value, "20, -, -");
    EXPECT_EQ(problems[0].message, "the jar gives fewer than two layers");
}

TEST(Texture, KindsOfErrorStayFew) {
    Textures textures;
    const char* classes[] = {"", "S", "SL", "SIL", "CL", "C"};
    for (int i = 0; i < 3000; ++i) {
        const double sand = 1 + (i * 7) % 60, silt = 1 + (i * 13) % 50, clay = 1 + (i * 29) % 40;
        Horizon& horizon = textures.add_jar(classes[i % 6], sand, silt, clay);
        if (i % 4 == 0) horizon.clay_pct = i % 60;
        if (i % 5 == 0) horizon.jar_clay_mm.reset();
    }
    std::set<std::array<double, 3>> kinds;
    for (const TextureValue& value : textures.read()) {
        kinds.insert(value.distribution.covariance);
        const auto& [c11, c12, c22] = value.distribution.covariance;
        EXPECT_GT(c11 * c22 - c12 * c12, 0.0);
        for (const double y : value.distribution.mean) EXPECT_NEAR(std::remainder(y, 0.05), 0.0, 1e-9);
    }
    EXPECT_GT(kinds.size(), 5u);
    EXPECT_LE(kinds.size(), 42u);
}

}  // namespace
}  // namespace subcrop::model
