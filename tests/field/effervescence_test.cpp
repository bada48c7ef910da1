#include "subcrop/field/effervescence.hpp"

#include <gtest/gtest.h>

#include <utility>

namespace subcrop::field {
namespace {

TEST(Effervescence, CodesAndWords) {
    // Class names of the Soil Survey Manual, chapter 3; codes from memory.
    for (const auto& [text, code] : {std::pair{"NE", "NE"},
                                     {"noneffervescent", "NE"},
                                     {"None", "NE"},
                                     {"0", "NE"},
                                     {"no reaction", "NE"},
                                     {"no_reaction", "NE"},
                                     {"vs", "VS"},
                                     {"very slightly effervescent", "VS"},
                                     {"Slight", "SL"},
                                     {"slightly effervescent", "SL"},
                                     {"weak  reaction", "SL"},
                                     {" ST ", "ST"},
                                     {"strong effervescence", "ST"},
                                     {"moderate", "ST"},
                                     {"violently effervescent", "VE"},
                                     {"VERY STRONG", "VE"},
                                     {"very\tstrong", "VE"}}) {
        const auto parsed = read_effervescence(text);
        ASSERT_TRUE(parsed) << text;
        EXPECT_EQ(*parsed.value, code) << text;
        EXPECT_TRUE(parsed.message.empty());
    }
}

TEST(Effervescence, AnythingElseIsRefused) {
    for (const char* text : {"", "fizz", "5", "S", "reaction"}) {
        const auto parsed = read_effervescence(text);
        EXPECT_FALSE(parsed) << text;
        EXPECT_EQ(parsed.message, "'" + std::string(text) + "' is no class of reaction to acid");
        EXPECT_EQ(parsed.remedy, "Write NE (none), VS (very slight), SL (slight), ST (strong) or VE (violent).");
    }
}

TEST(Effervescence, ADashIsAnEmptyCell) {
    for (const char* text : {"-", "--", "\u2013", " \u2014 "}) {
        const auto parsed = read_effervescence(text);
        EXPECT_FALSE(parsed) << text;
        EXPECT_EQ(parsed.message, "") << text;
    }
}

}  // namespace
}  // namespace subcrop::field
