#include "subcrop/field/fragments.hpp"

#include <gtest/gtest.h>

namespace subcrop::field {
namespace {

TEST(Fragments, LimitsOfTheModifiers) {
    // Soil Survey Manual, chapter 3: 15, 35 and 60 % by volume; 90 % from memory.
    const auto modifier = [](double percent) { return fragment_modifier(percent, FragmentKind::gravel); };
    EXPECT_EQ(modifier(0), "");
    EXPECT_EQ(modifier(14.9), "");
    EXPECT_EQ(modifier(15), "gravelly");
    EXPECT_EQ(modifier(34.9), "gravelly");
    EXPECT_EQ(modifier(35), "very gravelly");
    EXPECT_EQ(modifier(59.9), "very gravelly");
    EXPECT_EQ(modifier(60), "extremely gravelly");
    EXPECT_EQ(modifier(89.9), "extremely gravelly");
    EXPECT_EQ(modifier(90), "gravel");
    EXPECT_EQ(modifier(100), "gravel");
}

TEST(Fragments, NamesOfTextures) {
    EXPECT_EQ(texture_name(TextureClass::sandy_loam, 40, FragmentKind::gravel), "very gravelly sandy loam");
    EXPECT_EQ(texture_name(TextureClass::clay, 20, FragmentKind::channers), "channery clay");
    EXPECT_EQ(texture_name(TextureClass::loam, 5, FragmentKind::cobbles), "loam");
    EXPECT_EQ(texture_name(TextureClass::loam, 95, FragmentKind::flagstones), "flagstones");
}

TEST(Fragments, EveryKindIsReadInAllItsWritings) {
    for (const auto& [text, kind] : {std::pair{"GR", FragmentKind::gravel},
                                     {"Gravel ", FragmentKind::gravel},
                                     {"pebble", FragmentKind::gravel},
                                     {"cobbly", FragmentKind::cobbles},
                                     {"stone", FragmentKind::stones},
                                     {"BY", FragmentKind::boulders},
                                     {"channers", FragmentKind::channers},
                                     {"flaggy", FragmentKind::flagstones}}) {
        const auto parsed = parse_fragment_kind(text);
        ASSERT_TRUE(parsed) << text;
        EXPECT_EQ(*parsed.value, kind) << text;
    }
    const auto rock = parse_fragment_kind("basalt");
    EXPECT_FALSE(rock);
    EXPECT_EQ(rock.message, "'basalt' is no size of coarse fragments");
    EXPECT_EQ(rock.remedy, "Write gravel, cobbles, stones, boulders, channers or flagstones.");
}

TEST(Fragments, ModifiersWrittenAreModifiersRead) {
    for (int k = 0; k < 6; ++k)
        for (const double percent : {20.0, 40.0, 70.0}) {
            const auto kind = static_cast<FragmentKind>(k);
            const auto parsed = parse_texture(texture_name(TextureClass::silt_loam, percent, kind));
            ASSERT_TRUE(parsed);
            EXPECT_EQ(parsed.value->modifier, fragment_modifier(percent, kind));
            EXPECT_EQ(parsed.value->texture_class, TextureClass::silt_loam);
        }
}

}  // namespace
}  // namespace subcrop::field
