#include "subcrop/field/rock_depth.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace subcrop::field {
namespace {

using Basis = RockDepth::Basis;

RockCues horizon(double top, double bottom, Zone zone = Zone::subsoil) {
    RockCues cues;
    cues.top_cm = top;
    cues.bottom_cm = bottom;
    cues.zone = zone;
    return cues;
}

RockCues stony(double top, double bottom, double pct, std::string_view kind) {
    RockCues cues = horizon(top, bottom);
    cues.fragments_pct = pct;
    cues.fragment_kind = kind;
    return cues;
}

TEST(RockDepth, ByDesignation) {
    std::vector<RockCues> profile{horizon(0, 20, Zone::topsoil), horizon(20, 60),
                                  horizon(60, 90, Zone::parent_material), horizon(90, 120, Zone::rock)};
    RockDepth depth = rock_depth(profile, "refusal at 120");
    EXPECT_EQ(depth.basis, Basis::designated);
    EXPECT_EQ(depth.depth_cm, 90);
    EXPECT_FALSE(depth.weathered_cm);
    profile[2].weathered_rock = true;
    depth = rock_depth(profile, "");
    EXPECT_EQ(depth.depth_cm, 60);
    EXPECT_EQ(depth.weathered_cm, 60);
    EXPECT_TRUE(depth.reached());
}

TEST(RockDepth, AHoleThatEndsAboveRockSaysDeeperThan) {
    const std::vector<RockCues> profile{horizon(0, 20, Zone::topsoil), horizon(20, 85)};
    const RockDepth depth = rock_depth(profile, "no refusal");
    EXPECT_EQ(depth.basis, Basis::deeper_than);
    EXPECT_EQ(depth.low_cm, 85);
    EXPECT_FALSE(depth.depth_cm || depth.high_cm || depth.reached());
    EXPECT_EQ(rock_depth({}, "").basis, Basis::unknown);
}

TEST(RockDepth, RefusalIsRockOrALargeStone) {
    const std::vector<RockCues> profile{horizon(0, 45)};
    const RockDepth depth = rock_depth(profile, "auger refusal");
    EXPECT_EQ(depth.basis, Basis::refusal);
    EXPECT_EQ(depth.depth_cm, 45);
    EXPECT_EQ(depth.low_cm, 45);
    EXPECT_EQ(depth.high_cm, 75);
}

TEST(RockDepth, StonesOfOneKindThatGrowDownward) {
    // 10 % at 10 cm and 50 % at 50 cm: a line of one percent a centimetre meets 90 % at 90 cm and 75 % at 75.
    std::vector<RockCues> profile{stony(0, 20, 10, "Slate"), stony(40, 60, 50, "slate")};
    const RockDepth depth = rock_depth(profile, "");
    EXPECT_EQ(depth.basis, Basis::inferred);
    EXPECT_NEAR(depth.depth_cm.value(), 90, 1e-9);
    EXPECT_NEAR(depth.low_cm, 75, 1e-9);
    EXPECT_NEAR(depth.high_cm.value(), 120, 1e-9);
    EXPECT_EQ(depth.because, "slate fragments grow from 10 to 50 %");
    profile[0].fragment_kind = "basalt";
    EXPECT_EQ(rock_depth(profile, "").basis, Basis::deeper_than);
    profile[0] = stony(0, 20, 60, "slate");  // fewer below
    EXPECT_EQ(rock_depth(profile, "").basis, Basis::deeper_than);
    profile[0] = stony(0, 20, 45, "slate");  // a line that meets rock metres below says nothing
    EXPECT_EQ(rock_depth(profile, "").basis, Basis::deeper_than);
}

TEST(RockDepth, NeverAboveTheEndOfTheHole) {
    const std::vector<RockCues> profile{stony(0, 10, 5, "slate"), stony(10, 20, 95, "slate"), horizon(20, 70)};
    const RockDepth depth = rock_depth(profile, "");
    EXPECT_EQ(depth.basis, Basis::inferred);
    EXPECT_GE(depth.depth_cm.value(), 70);
    EXPECT_GE(depth.low_cm, 70);
}

TEST(RockDepth, FreshMineralsInTheLowestHorizonOnly) {
    std::vector<RockCues> profile{horizon(0, 30), horizon(30, 80)};
    profile[1].minerals = "Feldspar, mica";
    const RockDepth depth = rock_depth(profile, "");
    EXPECT_EQ(depth.basis, Basis::inferred);
    EXPECT_EQ(depth.low_cm, 80);
    EXPECT_EQ(depth.high_cm, 130);
    profile[1].minerals = "weathered feldspar";
    EXPECT_EQ(rock_depth(profile, "").basis, Basis::deeper_than);
    profile[0].minerals = profile[1].minerals = "mica";  // all the way up: the soil is micaceous
    EXPECT_EQ(rock_depth(profile, "").basis, Basis::deeper_than);
}

}  // namespace
}  // namespace subcrop::field
