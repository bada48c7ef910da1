#include "subcrop/field/jar_test.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <string>

#include "field/figures.hpp"
#include "subcrop/field/grain_size.hpp"

namespace subcrop::field {
namespace {

using testing::HasSubstr;

TEST(Water, ViscosityAndDensity) {
    const auto rows = figures::read("water.csv");
    ASSERT_EQ(rows.size(), 41u);
    for (const auto& row : rows) {
        const double temperature = row.number("T_C");
        // The table has three decimals of a micropascal second, four of a kilogram.
        EXPECT_NEAR(water_viscosity(temperature) * 1e6, row.number("mu_uPa_s_IAPWS_SR6_08"), 6e-4) << temperature;
        EXPECT_NEAR(water_density(temperature), row.number("rho_kg_m3_Tanaka2001"), 6e-5) << temperature;
        // The full formulation, which takes the density as well, differs by its uncertainty at most.
        EXPECT_NEAR(water_viscosity(temperature) * 1e6 / row.number("mu_uPa_s_IAPWS_R12_08"), 1.0, 5e-5) << temperature;
    }
}

TEST(Water, CheckValueOfTheRelease) {
    // IAPWS SR6-08 at 298.15 K and 0.1 MPa, by python3-iapws.
    EXPECT_NEAR(water_viscosity(25) * 1e6, 889.996774, 1e-6);
    // ISO/TR 3666: 1.0016 mPa s at 20 C.
    EXPECT_NEAR(water_viscosity(20) * 1e3, 1.0016, 1e-4);
}

TEST(Settling, TimesByStokes) {
    const auto rows = figures::read("stokes_times.csv");
    ASSERT_GT(rows.size(), 100u);
    for (const auto& row : rows) {
        const double size = row.number("d_mm"), fall = row.number("depth_cm"), temperature = row.number("T_C");
        const double time = settling_time_s(size, fall, temperature);
        // The table's viscosity is R12-08: 5e-5; its times have two decimals.
        EXPECT_NEAR(time / row.number("t_s"), 1.0, 5e-4) << size << " mm at " << temperature;
        EXPECT_NEAR(settled_size_mm(time, fall, temperature), size, 1e-12);
        EXPECT_NEAR(grain_reynolds(size, temperature) / row.number("Re"), 1.0, 5e-3);
    }
}

TEST(Settling, PipetteWithdrawalTable) {
    for (const auto& row : figures::read("pipette_withdrawal.csv")) {
        const double time = settling_time_s(row.number("d_mm"), row.number("depth_cm"), row.number("T_C"));
        EXPECT_NEAR(row.number("t_published_s") / time, 1.0, 0.025) << row.text("phi") << " phi at " << row.text("T_C");
    }
}

TEST(Settling, SpeedsOfQuartzSpheres) {
    for (const auto& row : figures::read("settling_speed_gibbs.csv")) {
        const double size = row.number("d_mm");
        if (size < 0.0015) continue;  // one figure only: 0.0001
        const double speed = 10.0 / settling_time_s(size, 10, 20);
        EXPECT_NEAR(row.number("v_published_cm_s_quartz_20C") / speed, 1.0, 0.065) << size;
    }
}

TEST(Settling, HydrometerTable) {
    for (const auto& row : figures::read("hydrometer_k.csv")) {
        const double k = settled_size_mm(60, 1, row.number("T_C"));
        EXPECT_NEAR(k / row.number("K_table_Gs2.65"), 1.0, 0.003) << row.text("T_C");
    }
}

TEST(Settling, SandIsBeyondStokes) {
    EXPECT_TRUE(obeys_stokes(0.05, 20));
    EXPECT_TRUE(obeys_stokes(0.05, 35));
    EXPECT_FALSE(obeys_stokes(0.1, 20));
    EXPECT_FALSE(obeys_stokes(2, 5));
    // Published speeds of quartz spheres fall 6 % short of Stokes at 1/16 mm (USGS OFR 2006-1195): about the limit.
    EXPECT_NEAR(grain_reynolds(0.0625, 20), 0.219, 0.001);
}

TEST(Jar, UsualMarksCutWhereTheyDo) {
    // The marks printed for jars differ: 40 s, 45 s or 1 min for sand, 30 min, 2, 3 or 6 h for silt, 24 or 48 h for
    // clay (extension leaflets). What has cleared 15 cm of water of 20 C by then:
    const auto cleared = [](double seconds) { return settled_size_mm(seconds, 15, 20); };
    EXPECT_NEAR(cleared(40), 0.065, 0.0005);
    EXPECT_NEAR(cleared(60), 0.053, 0.0005);
    EXPECT_NEAR(cleared(2 * 3600), 0.0048, 0.00005);
    EXPECT_NEAR(cleared(24 * 3600), 0.0014, 0.00005);
    // All for sand are near the limit at 0.05 mm; of those for silt none reaches 0.002 mm, the shortest not 0.009.
    EXPECT_GT(cleared(30 * 60), 0.009);
    EXPECT_GT(cleared(6 * 3600), silt_limit_mm);
}

TEST(Jar, MarksForAHeightAndATemperature) {
    // Half as high again as the 10 cm of the table: 44.52 s and 7 h 43 m 45 s at 20 C.
    const JarMarks marks = jar_marks(15, 20);
    EXPECT_NEAR(marks.sand_s, 1.5 * 44.52, 0.05);
    EXPECT_NEAR(marks.silt_s, 1.5 * 27824.6, 10);
    EXPECT_GT(jar_marks(15, 5).silt_s, 1.5 * marks.silt_s);  // cold water is thicker
}

/// Layers of a jar in which single grains of given sizes fall from given heights, packed as loosely as the header says.
struct Jar {
    double sand_mm = 0, silt_mm = 0, clay_mm = 0;
};
Jar shake(const GrainSize& size, double solid_mm, double sand_line_s, double silt_line_s) {
    constexpr int sizes = 300, heights = 200;
    struct Range {
        double percent, low, high, bulk;
    };
    const std::array<Range, 3> ranges{
        {{size.sand, 0.05, 2, 1 / 0.6}, {size.silt, 0.002, 0.05, 1 / 0.5}, {size.clay, 0.0002, 0.002, 1 / 0.2}}};
    std::array<double, 3> layers{};
    for (const Range& range : ranges)
        for (int i = 0; i < sizes; ++i) {
            const double d = range.low * std::pow(range.high / range.low, (i + 0.5) / sizes);
            // One clay grain in ten is part of a floc that falls as some silt does.
            for (const bool floc : {false, true}) {
                const bool is_clay = range.high <= 0.002;
                if (floc && !is_clay) continue;
                const double share = is_clay ? (floc ? 0.1 : 0.9) : 1.0;
                const double falls_as = floc ? 0.002 * std::pow(25.0, (i + 0.5) / sizes) : d;
                const double speed_cm_s = 10.0 / settling_time_s(falls_as, 10, 20);
                for (int k = 0; k < heights; ++k) {
                    const double start_cm = 15.0 * (k + 0.5) / heights;
                    const double lands_s = start_cm / speed_cm_s;
                    const std::size_t layer = lands_s <= sand_line_s ? 0 : lands_s <= silt_line_s ? 1 : 2;
                    layers[layer] += solid_mm * range.percent / 100 * share * range.bulk / (sizes * heights);
                }
            }
        }
    return {layers[0], layers[1], layers[2]};
}

double sd(double variance) { return std::sqrt(variance); }

TEST(Jar, GrainSizeOfSimulatedJars) {
    for (const GrainSize& truth :
         {GrainSize{65, 25, 10}, GrainSize{20, 60, 20}, GrainSize{30, 35, 35}, GrainSize{10, 35, 55}})
        for (const double silt_line_s : {30.0 * 60, 2.0 * 3600, 41736.0}) {
            const Jar jar = shake(truth, 30, 60, silt_line_s);
            const auto read = jar_grain_size({.sand_mm = jar.sand_mm,
                                              .silt_mm = jar.silt_mm,
                                              .clay_mm = jar.clay_mm,
                                              .sand_read_after_s = 60,
                                              .silt_read_after_s = silt_line_s});
            ASSERT_TRUE(read) << read.message;
            const auto y = ilr(truth);
            const auto& [mean, covariance] = *read.value;
            // The jar obeys the model, so the mean lies well within its own error.
            EXPECT_LT(std::abs(mean[0] - y[0]), 0.7 * sd(covariance[0])) << truth.sand << " " << silt_line_s;
            EXPECT_LT(std::abs(mean[1] - y[1]), 0.7 * sd(covariance[2])) << truth.sand << " " << silt_line_s;
            // Towards the middle of the triangle, by what is equally likely beforehand.
            EXPECT_NEAR(from_ilr(mean).clay, truth.clay, 7) << silt_line_s;
        }
}

TEST(Jar, ThicknessOverstatesClay) {
    const auto read = jar_grain_size({.sand_mm = 25, .silt_mm = 25, .clay_mm = 25});
    ASSERT_TRUE(read);
    const GrainSize mean = from_ilr(read.value->mean);
    EXPECT_LT(mean.clay, 25);
    EXPECT_GT(mean.sand, 33.4);
    // Packing alone leaves several percent of doubt.
    EXPECT_GT(sd(read.value->covariance[0]), 0.08);
    EXPECT_GT(sd(read.value->covariance[2]), 0.15);
    EXPECT_LT(sd(read.value->covariance[2]), 0.6);
}

TEST(Jar, ALateSiltLineLeavesMoreOfTheTopLayerToClay) {
    JarReading reading{.sand_mm = 30, .silt_mm = 30, .clay_mm = 15};
    double before = 0;
    for (const double hours : {0.5, 2.0, 6.0, 11.6}) {
        reading.silt_read_after_s = hours * 3600;
        const double clay = from_ilr(jar_grain_size(reading).value->mean).clay;
        EXPECT_GT(clay, before) << hours;
        before = clay;
    }
}

TEST(Jar, CloudyWaterStillHoldsClay) {
    JarReading reading{.sand_mm = 30, .silt_mm = 30, .clay_mm = 15};
    const auto clear = jar_grain_size(reading);
    reading.clay_read_after_s = 24 * 3600;
    const auto after_a_day = jar_grain_size(reading);
    EXPECT_GT(from_ilr(after_a_day.value->mean).clay, from_ilr(clear.value->mean).clay);
    EXPECT_GT(after_a_day.value->covariance[2], clear.value->covariance[2]);
}

TEST(Jar, MoreSoilIsReadMoreFinely) {
    const auto thick = jar_grain_size({.sand_mm = 40, .silt_mm = 20, .clay_mm = 20});
    const auto thin = jar_grain_size({.sand_mm = 4, .silt_mm = 2, .clay_mm = 2});
    EXPECT_GT(thin.value->covariance[0], 1.5 * thick.value->covariance[0]);
    EXPECT_GT(thin.value->covariance[2], 1.2 * thick.value->covariance[2]);
}

TEST(Jar, LayersThatAreMissingOrNone) {
    const auto all = jar_grain_size({.sand_mm = 40, .silt_mm = 20, .clay_mm = 20});
    const auto no_clay_line = jar_grain_size({.sand_mm = 40, .silt_mm = 20});
    ASSERT_TRUE(no_clay_line);
    EXPECT_GT(no_clay_line.value->covariance[2], 2 * all.value->covariance[2]);
    const auto no_clay = jar_grain_size({.sand_mm = 60, .silt_mm = 8, .clay_mm = 0});
    ASSERT_TRUE(no_clay);
    EXPECT_LT(from_ilr(no_clay.value->mean).clay, 3);
    EXPECT_EQ(classify(from_ilr(no_clay.value->mean)), TextureClass::sand);
}

TEST(Jar, WhatCannotBeIsRefused) {
    const auto message = [](const JarReading& reading) {
        const auto read = jar_grain_size(reading);
        EXPECT_FALSE(read);
        EXPECT_FALSE(read.remedy.empty());
        return read.message;
    };
    EXPECT_EQ(message({.sand_mm = 40}), "the jar gives fewer than two layers");
    EXPECT_EQ(message({.sand_mm = 40, .silt_mm = -3}), "a layer of silt cannot be -3 mm thick");
    EXPECT_EQ(message({.sand_mm = 0, .silt_mm = 0}), "the layers in the jar have no thickness");
    EXPECT_THAT(message({.sand_mm = 100, .silt_mm = 60}), HasSubstr("thicker than the water is high, 15 cm"));
    EXPECT_THAT(message({.sand_mm = 40, .silt_mm = 20, .silt_read_after_s = 30}), HasSubstr("one after another"));
    EXPECT_THAT(message({.sand_mm = 40, .silt_mm = 20, .temperature_c = 68}), HasSubstr("68 degrees Celsius"));
    EXPECT_THAT(message({.sand_mm = 40, .silt_mm = 20, .water_height_cm = 0}), HasSubstr("height of water"));
}

}  // namespace
}  // namespace subcrop::field
