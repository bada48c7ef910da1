#include <gtest/gtest.h>

#include "subcrop/field/munsell.hpp"

namespace subcrop::field {
namespace {

struct Written {
    const char* text;
    const char* notation;  ///< canonical; empty where refused
    Moisture moisture;
    const char* message;
    const char* remedy;
};

constexpr auto unstated = Moisture::unstated;
constexpr auto moist = Moisture::moist;
constexpr auto dry = Moisture::dry;

const Written as_written[] = {
    {"10YR 5/6", "10YR 5/6", unstated, "", ""},
    {"10YR5/6", "10YR 5/6", unstated, "", ""},
    {" 10YR  5/6\t", "10YR 5/6", unstated, "", ""},
    {"10 yr 5/6 moist", "10YR 5/6", moist, "", ""},
    {"10YR 5/6 (m)", "10YR 5/6", moist, "", ""},
    {"10YR 5/6m", "10YR 5/6", moist, "", ""},
    {"10YR 5/6 (d)", "10YR 5/6", dry, "", ""},
    {"10YR 6/4 dry", "10YR 6/4", dry, "", ""},
    {"10YR 5/6, moist", "10YR 5/6", moist, "", ""},
    {"10YR 5/6 - moist", "10YR 5/6", moist, "", ""},
    {"moist 10YR 5/6", "10YR 5/6", moist, "", ""},
    {"7.5YR 4.5/3", "7.5YR 4.5/3", unstated, "", ""},
    {"7,5YR 4/4", "7.5YR 4/4", unstated, "", ""},
    {"7,5YR 4,5/3", "7.5YR 4.5/3", unstated, "", ""},
    {"10yr 4,6", "10YR 4/6", unstated, "", ""},
    {"7,5YR, 4,3", "7.5YR 4/3", unstated, "", ""},
    {"2.5Y 4, 4 moist", "2.5Y 4/4", moist, "", ""},
    {"10YR 4,5", "10YR 4/5", unstated, "the comma between value and chroma is read as a slash", ""},
    {"N 4,5", "N 4.5/", unstated, "", ""},
    {"7.5 YR 4 / 4", "7.5YR 4/4", unstated, "", ""},
    {"10 Y R 5/6", "10YR 5/6", unstated, "", ""},
    {"10YR-5/6", "10YR 5/6", unstated, "", ""},
    {"10YR/5/6", "10YR 5/6", unstated, "", ""},
    {"10YR.5/6", "10YR 5/6", unstated, "", ""},
    {"10YR, 5/6", "10YR 5/6", unstated, "", ""},
    {"10YR 5\\6", "10YR 5/6", unstated, "", ""},
    {"10YR\u00a05/6", "10YR 5/6", unstated, "", ""},
    {"10YR\u20095\u20444", "10YR 5/4", unstated, "", ""},
    {"\ufeff10YR 5/6", "10YR 5/6", unstated, "", ""},
    {"N 4/", "N 4/", unstated, "", ""},
    {"N4", "N 4/", unstated, "", ""},
    {"N4/", "N 4/", unstated, "", ""},
    {"n 4/0", "N 4/", unstated, "", ""},
    {"N 2.5/", "N 2.5/", unstated, "", ""},
    {"2.5Y N4/", "N 4/", unstated, "", ""},
    {"10YR 4/0", "N 4/", unstated, "", ""},
    {"5GY 4/1", "5GY 4/1", unstated, "", ""},
    {"10Y 5/1", "10Y 5/1", unstated, "", ""},
    {"Gley 1 4/10Y", "10Y 4/1", unstated, "", ""},
    {"Gley1 2.5/N", "N 2.5/", unstated, "", ""},
    {"GLEY 2 5/5B", "5B 5/1", unstated, "", ""},
    {"Gley 1 5/5G_2", "5G 5/2", unstated, "", ""},
    {"Gley 1 5/5G/1", "5G 5/1", unstated, "", ""},
    {"gley 1 10Y 4/1", "10Y 4/1", unstated, "", ""},
    {"gley 4/10Y", "10Y 4/1", unstated, "", ""},
    {"10YR 5/4-5/6", "10YR 5/4 to 5/6", unstated, "", ""},
    {"10YR 5/4 \u2013 5/6", "10YR 5/4 to 5/6", unstated, "", ""},
    {"10YR 5/4 to 5/6", "10YR 5/4 to 5/6", unstated, "", ""},
    {"10YR 5/4 to 5/6 moist", "10YR 5/4 to 5/6", moist, "", ""},
    {"10YR 5/4-10YR 5/6", "10YR 5/4 to 5/6", unstated, "", ""},
    {"10YR 5/4-6", "10YR 5/4 to 5/6", unstated, "", ""},
    {"10YR 4-5/6", "10YR 4/6 to 5/6", unstated, "", ""},
    {"10YR 4-5/3-4", "10YR 4/3 to 5/4", unstated, "", ""},
    {"7.5-10YR 5/4", "7.5YR 5/4 to 10YR 5/4", unstated, "", ""},
    {"7.5YR-10YR 5/4", "7.5YR 5/4 to 10YR 5/4", unstated, "", ""},
    {"10YR 5/4 to 7.5YR 5/6", "10YR 5/4 to 7.5YR 5/6", unstated, "", ""},
    {"N 4/ to 5/", "N 4/ to N 5/", unstated, "", ""},
    {"N 4-5/", "N 4/ to N 5/", unstated, "", ""},
    {"10YR 5/4 to 5/4", "10YR 5/4", unstated, "", ""},
    {"10YR 5/6 yellowish brown", "10YR 5/6", unstated, "", ""},
    {"dark brown (7.5YR 3/2)", "7.5YR 3/2", unstated, "", ""},
    {"Dark Yellowish Brown 10YR 4/4 m", "10YR 4/4", moist, "", ""},
    {"10RP 5/6", "10RP 5/6", unstated, "", ""},
};

const Written with_a_remark[] = {
    {"1OYR 5/6", "10YR 5/6", unstated, "letters stand for figures; read as 10YR 5/6", ""},
    {"lOYR 5/l", "10YR 5/1", unstated, "letters stand for figures; read as 10YR 5/1", ""},
    {"N 4/O", "N 4/", unstated, "letters stand for figures; read as N 4/", ""},
    {"0YR 5/6", "10R 5/6", unstated, "the hue 0YR is read as 10R, which is the same", ""},
    {"0R 5/6", "10RP 5/6", unstated, "the hue 0R is read as 10RP, which is the same", ""},
    {"6YR 5/6", "6YR 5/6", unstated, "no colour book carries the hue 6YR", ""},
    {"10YR 4.3/2", "10YR 4.3/2", unstated, "no colour book carries the value 4.3", ""},
    {"10YR 4/2.2", "10YR 4/2.2", unstated, "no colour book carries the chroma 2.2", ""},
    {"10YR 5/20", "10YR 5/20", unstated,
     "the chroma of 10YR 5/20 lies beyond the greatest measured there, 12; its colour is extrapolated", ""},
    {"10YR 5 6", "10YR 5/6", unstated, "the slash between value and chroma was added", ""},
    {"N 4/1", "N 4/", unstated, "a neutral has no chroma; read as N 4/", ""},
    {"10YR 5/6 wet", "10YR 5/6", moist, "'wet' is read as moist", ""},
    {"10YR 5/6?", "10YR 5/6", unstated, "the question mark is not kept", ""},
    {"10YR 6/4 dry; 10YR 5/4 moist", "10YR 5/4", moist, "several colours are written; the moist one is read", ""},
    {"10YR 4/3, 7.5YR 5/6", "10YR 4/3", unstated, "several colours are written; the first is read", ""},
    {"10YR 5/4,5/6", "10YR 5/4", unstated, "several colours are written; the first is read", ""},
};

constexpr auto example = "Write hue, value/chroma, such as 10YR 5/6.";

const Written refused[] = {
    {"", "", unstated, "no colour is written", example},
    {" \u00a0 ", "", unstated, "no colour is written", example},
    {"brown", "", unstated, "'brown' is no Munsell notation", example},
    {"?", "", unstated, "'?' is no Munsell notation", example},
    {"10YR 5/6/4", "", unstated, "'10YR 5/6/4' is no Munsell notation", example},
    {"10YR 5/6 #2", "", unstated, "'10YR 5/6 #2' is no Munsell notation", example},
    {"10XR 5/6", "", unstated, "no Munsell hue is written '10XR'",
     "Write the hue as a number and letters, such as 10YR."},
    {"10RY 5/6", "", unstated, "no Munsell hue is written '10RY'", "Was 10YR meant?"},
    {"12YR 5/6", "", unstated, "the hue number of '12YR' is above 10",
     "Within a hue the numbers run from 0 to 10. Beyond 10YR comes Y."},
    {"YR 5/6", "", unstated, "the hue 'YR' has no number before it", "Write the whole hue, such as 10YR or 5Y."},
    {"5/6", "", unstated, "'5/6' has no hue", "Write the hue before value and chroma, such as 10YR 5/6."},
    {"10YR", "", unstated, "'10YR' has no value and chroma", example},
    {"10YR 5/", "", unstated, "'10YR 5/' has no chroma",
     "Write the chroma after the slash, such as 10YR 5/6; a neutral grey is N 5/."},
    {"10YR 5", "", unstated, "'10YR 5' has no chroma",
     "Write the chroma after the slash, such as 10YR 5/6; a neutral grey is N 5/."},
    {"10YR 56", "", unstated, "'10YR 56' has no slash between value and chroma", "Write 5/6 if that was meant."},
    {"10YR 11/6", "", unstated, "the value 11 is above 10",
     "Value runs from 0, black, to 10, white. Write hue, value/chroma, such as 10YR 5/6."},
    {"10YR 5/-6", "", unstated, "the chroma -6 is below 0",
     "Chroma runs from 0, neutral, upwards. Write hue, value/chroma, such as 10YR 5/6."},
    {"10YR 5/40", "", unstated, "no surface has the colour 10YR 5/40: the greatest chroma measured there is 12",
     "Look again at the chroma in the field book."},
    {"10YR 5.5.5/6", "", unstated, "'5.5.5' is no number", example},
};

void expect_reading(const Written& written) {
    const auto parsed = parse_munsell(written.text);
    SCOPED_TRACE(written.text);
    EXPECT_EQ(parsed.message, written.message);
    EXPECT_EQ(parsed.remedy, written.remedy);
    if (*written.notation == '\0') {
        EXPECT_FALSE(parsed);
        return;
    }
    ASSERT_TRUE(parsed);
    EXPECT_EQ(parsed.value->notation, written.notation);
    EXPECT_EQ(parsed.value->moisture, written.moisture);
    // The canonical form is read as the same colours, without a remark on letters or slashes.
    const auto again = parse_munsell(parsed.value->notation);
    ASSERT_TRUE(again);
    EXPECT_EQ(again.value->chips, parsed.value->chips);
    EXPECT_EQ(again.value->notation, parsed.value->notation);
}

TEST(MunsellNotation, AsPeopleWriteIt) {
    for (const Written& written : as_written) expect_reading(written);
}

TEST(MunsellNotation, ReadWithARemark) {
    for (const Written& written : with_a_remark) expect_reading(written);
}

TEST(MunsellNotation, RefusedWithARemedy) {
    for (const Written& written : refused) expect_reading(written);
}

TEST(MunsellNotation, NumbersOfTheHueCircle) {
    const std::pair<const char*, double> hues[] = {{"2.5R", 2.5},  {"10R", 10}, {"2.5YR", 12.5}, {"10YR", 20},
                                                   {"2.5Y", 22.5}, {"5Y", 25},  {"10Y", 30},     {"5GY", 35},
                                                   {"5G", 45},     {"5BG", 55}, {"5B", 65},      {"5PB", 75},
                                                   {"5P", 85},     {"5RP", 95}, {"10RP", 100}};
    for (const auto& [text, number] : hues) {
        const auto parsed = parse_munsell(std::string(text) + " 5/2");
        ASSERT_TRUE(parsed) << text;
        EXPECT_EQ(parsed.value->chips.front(), (Munsell{number, 5, 2})) << text;
    }
}

TEST(MunsellNotation, RangesGiveBothEnds) {
    const auto parsed = parse_munsell("7.5-10YR 4-5/3-4");
    ASSERT_TRUE(parsed);
    EXPECT_EQ(parsed.value->chips, (std::vector<Munsell>{{17.5, 4, 3}, {20, 5, 4}}));
}

TEST(MunsellNotation, RoundTripOfEveryBookStep) {
    std::size_t colours = 0;
    for (int step = 1; step <= 40; ++step)
        for (double value = 1.0; value <= 9.0; value += 0.5)
            for (const double chroma : {0.0, 0.5, 1.0, 2.0, 3.0, 4.0}) {
                const Munsell colour{chroma == 0.0 ? 0.0 : 2.5 * step, value, chroma};
                const auto parsed = parse_munsell(notation(colour));
                ASSERT_TRUE(parsed) << notation(colour) << ": " << parsed.message;
                ASSERT_EQ(parsed.value->chips, std::vector<Munsell>{colour}) << notation(colour);
                ++colours;
            }
    EXPECT_EQ(colours, 40u * 17u * 6u);
}

TEST(MunsellNotation, RoundTripOfDecimals) {
    for (const Munsell& colour :
         {Munsell{12.3, 4.7, 2.35}, Munsell{17.6, 5.25, 3.1}, Munsell{0.1, 5, 2}, Munsell{100, 5, 2}}) {
        const auto parsed = parse_munsell(notation(colour));
        ASSERT_TRUE(parsed) << notation(colour);
        EXPECT_NEAR(parsed.value->chips.front().hue, colour.hue, 1e-12);
        EXPECT_EQ(parsed.value->chips.front().value, colour.value);
        EXPECT_EQ(parsed.value->chips.front().chroma, colour.chroma);
    }
}

}  // namespace
}  // namespace subcrop::field
