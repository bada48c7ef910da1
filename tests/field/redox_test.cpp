#include "subcrop/field/redox.hpp"

#include <gtest/gtest.h>

namespace subcrop::field {
namespace {

struct Written {
    const char* text;
    RedoxAbundance abundance;
    bool concentrations;
    bool depletions;
    std::size_t colours;
    const char* message;
};

TEST(Redox, AsPeopleWriteIt) {
    // Classes: few below 2 %, common 2 to below 20 %, many from 20 % (Soil Survey Manual 2017, chapter 3).
    const Written cases[] = {
        {"none", RedoxAbundance::none, false, false, 0, ""},
        {"no mottles", RedoxAbundance::none, false, false, 0, ""},
        {"few faint", RedoxAbundance::few, false, false, 0, ""},
        {"Common distinct 7.5YR 5/6 concentrations", RedoxAbundance::common, true, false, 1, ""},
        {"many prominent 5YR4/6 masses, 10YR 6/1 depletions", RedoxAbundance::many, true, true, 2, ""},
        {"30 % grey mottles", RedoxAbundance::many, false, true, 0, ""},
        {"5% rust", RedoxAbundance::common, true, false, 0, ""},
        {"1 percent mottles", RedoxAbundance::few, false, false, 0, ""},
        {"gleyed", RedoxAbundance::gleyed, false, false, 0, ""},
        {"rusty mottles", RedoxAbundance::few, true, false, 0,
         "the amount of 'rusty mottles' is not said; it is taken as few"},
    };
    for (const Written& c : cases) {
        SCOPED_TRACE(c.text);
        const auto parsed = read_redox(c.text);
        ASSERT_TRUE(static_cast<bool>(parsed));
        EXPECT_EQ(parsed.value->abundance, c.abundance);
        EXPECT_EQ(parsed.value->concentrations, c.concentrations);
        EXPECT_EQ(parsed.value->depletions, c.depletions);
        EXPECT_EQ(parsed.value->colours.size(), c.colours);
        EXPECT_EQ(parsed.message, c.message);
    }
    const auto refused = read_redox("clay films");
    EXPECT_FALSE(static_cast<bool>(refused));
    EXPECT_EQ(refused.message, "'clay films' names no redoximorphic feature");
}

TEST(Redox, ColoursAreThoseOfTheFeature) {
    const auto parsed = read_redox("common 7.5YR 5/6 masses");
    ASSERT_EQ(parsed.value->colours.size(), 1u);
    EXPECT_DOUBLE_EQ(parsed.value->colours[0].value, 5);
    EXPECT_DOUBLE_EQ(parsed.value->colours[0].chroma, 6);
}

}  // namespace
}  // namespace subcrop::field
