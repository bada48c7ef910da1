// The examples at the head of field's public headers, word for word: they compile, and they do what they say.
#include <gtest/gtest.h>

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/field/colour_difference.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/fragments.hpp"
#include "subcrop/field/grain_size.hpp"
#include "subcrop/field/jar_test.hpp"
#include "subcrop/field/kind_names.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/rock_depth.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/field/written_date.hpp"
#include "subcrop/field/written_place.hpp"

namespace subcrop::field {
namespace {

TEST(HeaderExample, Effervescence) {
    std::string code = *read_effervescence("strongly effervescent").value;  // "ST"

    EXPECT_EQ(code, "ST");
}

TEST(HeaderExample, Fragments) {
    std::string name = texture_name(TextureClass::loam, 40, FragmentKind::gravel);  // "very gravelly loam"

    EXPECT_EQ(name, "very gravelly loam");
}

TEST(HeaderExample, GrainSize) {
    const std::array sources{feel_distribution(TextureClass::silt_loam), estimated_grain_size({.clay = 18})};
    IlrDistribution both = combine(sources);          // narrower than either
    double p = disagreement(sources[0], sources[1]);  // 0.7: the two may well be of one soil

    for (const IlrDistribution& source : sources) {
        EXPECT_LT(both.covariance[0], source.covariance[0]);
        EXPECT_LT(both.covariance[2], source.covariance[2]);
    }
    EXPECT_NEAR(p, 0.7, 0.05);
}

TEST(HeaderExample, JarTest) {
    JarMarks marks = jar_marks(15, 20);                  // sand after 67 s, silt after 11 h 36 min
    double size_mm = settled_size_mm(2 * 3600, 15, 20);  // 0.0048: a line at 2 h leaves fine silt with the clay
    Parsed<IlrDistribution> soil = jar_grain_size({.sand_mm = 40, .silt_mm = 25, .clay_mm = 10});  // with its error

    EXPECT_NEAR(marks.sand_s, 67, 0.5);
    EXPECT_NEAR(marks.silt_s, (11 * 60 + 36) * 60, 30);
    EXPECT_NEAR(size_mm, 0.0048, 0.00005);
    ASSERT_TRUE(soil);
    EXPECT_GT(soil.value->covariance[0], 0);
}

TEST(HeaderExample, KindNames) {
    KindNames names;
    names.add("rock", "greenstone", "basalt");                // the user's own come first
    std::string rock = names.settle(NamedKind::rock, "sst");  // "sandstone"

    EXPECT_EQ(rock, "sandstone");
    EXPECT_EQ(names.settle(NamedKind::rock, "greenstone"), "basalt");
}

TEST(HeaderExample, Munsell) {
    auto reading = parse_munsell("10 yr 5/6 moist");  // value: chips {10YR 5/6}, moisture moist
    Lab lab = to_lab(reading.value->chips.front());   // L* 51.0, a* 8.8, b* 38.5

    EXPECT_EQ(reading.value->notation, "10YR 5/6");
    EXPECT_EQ(reading.value->moisture, Moisture::moist);
    EXPECT_NEAR(lab.lightness, 51.0, 0.05);
    EXPECT_NEAR(lab.a, 8.8, 0.05);
    EXPECT_NEAR(lab.b, 38.5, 0.05);
}

TEST(HeaderExample, Plants) {
    PlantNames names;
    names.add("ling", "Calluna vulgaris");
    PlantReading reading = names.settle(read_plants("ling, Heather"));  // taxa "calluna vulgaris", "heather"

    EXPECT_EQ(reading.taxa, (std::vector<std::string>{"calluna vulgaris", "heather"}));
}

TEST(HeaderExample, Redox) {
    RedoxAbundance abundance = read_redox("common distinct 7.5YR 5/6 masses").value->abundance;  // common

    EXPECT_EQ(abundance, RedoxAbundance::common);
}

TEST(HeaderExample, RockDepth) {
    std::vector<RockCues> profile(3);
    profile[0].bottom_cm = profile[1].top_cm = 20;
    profile[1].bottom_cm = profile[2].top_cm = 55;
    profile[2].zone = Zone::rock;
    RockDepth depth = rock_depth(profile, "");  // basis designated, depth_cm 55

    EXPECT_EQ(depth.basis, RockDepth::Basis::designated);
    EXPECT_EQ(depth.depth_cm, 55);
}

TEST(HeaderExample, Texture) {
    TextureClass texture = classify({65, 25, 10});                              // sandy_loam
    const IlrDistribution& size = class_distribution(TextureClass::silt_loam);  // of ilr over the class's region

    EXPECT_EQ(texture, TextureClass::sandy_loam);
    EXPECT_EQ(classify(from_ilr(size.mean)), TextureClass::silt_loam);
}

TEST(HeaderExample, WrittenDate) {
    std::string day = *read_date("12 May 2026").value;         // "2026-05-12"
    std::string minute = *read_date("12.V.2026 14:30").value;  // "2026-05-12 14:30"
    std::string unclear = read_date("05/12/2026").message;     // may be 5 December or 12 May
    std::string partial = read_date("May 12").message;         // lacks its year

    EXPECT_EQ(day, "2026-05-12");
    EXPECT_EQ(minute, "2026-05-12 14:30");
    EXPECT_NE(unclear.find("5 December"), std::string::npos) << unclear;
    EXPECT_NE(unclear.find("12 May"), std::string::npos) << unclear;
    EXPECT_NE(partial.find("year"), std::string::npos) << partial;
}

TEST(HeaderExample, WrittenPlace) {
    auto place = read_place("N 45 12.345 E 3 40.2");          // x 3.67 (longitude), y 45.20575 (latitude)
    auto grid = read_place("31V 540595 6231941");             // UTM zone 31 north, 540595 east, 6231941 north
    auto west = read_angle("3°40'12.0\"W", Axis::longitude);  // -3.67

    EXPECT_EQ(place.value->kind, WrittenPlace::Kind::degrees);
    EXPECT_NEAR(place.value->x, 3.67, 1e-9);
    EXPECT_NEAR(place.value->y, 45.20575, 1e-9);
    EXPECT_EQ(grid.value->zone, 31);
    EXPECT_TRUE(grid.value->north);
    EXPECT_EQ(grid.value->x, 540595);
    EXPECT_EQ(grid.value->y, 6231941);
    EXPECT_NEAR(*west.value, -3.67, 1e-9);
}

}  // namespace
}  // namespace subcrop::field
