#include "io/text_values.hpp"

#include <gmock/gmock.h>

namespace subcrop::io {
namespace {

using testing::ElementsAre;

struct NumberCase {
    const char* written;
    Unit unit;
    double value;
    const char* message;
};

TEST(TextValues, TellsHalfTheWidthOfARange) {
    double half = -1;
    EXPECT_EQ(read_number("8-12", Unit::centimetres, &half).value, 10);
    EXPECT_EQ(half, 2);
    EXPECT_EQ(read_number("80-120 mm", Unit::centimetres, &half).value, 10);
    EXPECT_EQ(half, 2);
    half = -1;
    EXPECT_EQ(read_number("50+", Unit::centimetres, &half).value, 50);
    EXPECT_EQ(half, 0);
}

TEST(TextValues, ReadsNumbersAsPeopleWriteThem) {
    const NumberCase cases[] = {
        {"12", Unit::none, 12, ""},
        {"-1.5e2", Unit::none, -150, ""},
        {"12,5", Unit::percent, 12.5, ""},
        {"0,125", Unit::none, 0.125, ""},
        {"1,250", Unit::none, 1.25, "the comma is taken as the decimal mark, read as 1.25"},
        {"12 %", Unit::percent, 12, ""},
        {"12%", Unit::percent, 12, ""},
        {"30 cm", Unit::centimetres, 30, ""},
        {"30\xC2\xA0"
         "cm",
         Unit::centimetres, 30, ""},
        {"+/- 5 m", Unit::metres, 5, ""},
        {"\xC2\xB1"
         "5",
         Unit::metres, 5, ""},
        {"12\xC2\xB0", Unit::degrees, 12, ""},
        {"~20", Unit::percent, 20, "read as 20"},
        {"ca. 20", Unit::percent, 20, "read as 20"},
        {"< 5", Unit::percent, 2.5, "below a limit, read as half of it: 2.5"},
        {">90", Unit::centimetres, 90, "above a limit, read as the limit 90"},
        {"50+", Unit::centimetres, 50, "above a limit, read as the limit 50"},
        {"50+ cm", Unit::centimetres, 50, "above a limit, read as the limit 50"},
        {"50 cm+", Unit::centimetres, 50, "above a limit, read as the limit 50"},
        {"5-10", Unit::percent, 7.5, "a range, read as its mean 7.5"},
        {"5 \xE2\x80\x93 10 %", Unit::percent, 7.5, "a range, read as its mean 7.5"},
        {"5 to 10", Unit::percent, 7.5, "a range, read as its mean 7.5"},
        // atan(1) = 45 degrees: a slope of 100 percent rises as much as it runs.
        {"100 %", Unit::degrees, 45, "a slope in percent, read as 45 degrees"},
        // An inch is 2.54 cm and a foot 0.3048 m exactly (international yard and pound agreement, 1959).
        {"10 in", Unit::centimetres, 25.4, "a length in another unit, read as 25.4 cm"},
        {"1-2 ft", Unit::centimetres, 45.72, "a length in another unit, read as 45.72 cm"},
        {"12 mm", Unit::centimetres, 1.2, "a length in another unit, read as 1.2 cm"},
        {"100 feet", Unit::metres, 30.48, "a length in another unit, read as 30.48 m"},
        {"2 cm", Unit::millimetres, 20, "a length in another unit, read as 20 mm"},
    };
    for (const NumberCase& c : cases) {
        const Parsed<double> read = read_number(c.written, c.unit);
        ASSERT_TRUE(read) << c.written << ": " << read.message;
        EXPECT_NEAR(*read.value, c.value, 1e-12) << c.written;
        EXPECT_EQ(read.message, c.message) << c.written;
    }
}

TEST(TextValues, RefusesWhatIsNoNumberOrNoLength) {
    for (const char* written : {"n/a", "-", "", "none", "12 kg", "12 deg", "5-", "10-5", "1,234.5", "1 234", "nan",
                                "inf", "12x", "1e999", "--5", "5 10", "%", "\xE2\x88\x92"}) {
        const Parsed<double> read = read_number(written, Unit::centimetres);
        EXPECT_FALSE(read) << written;
        EXPECT_EQ(read.message, "this is not a number of centimetres") << written;
    }
    for (const Unit unit : {Unit::none, Unit::percent, Unit::degrees}) EXPECT_FALSE(read_number("12 in", unit));
}

TEST(TextValues, TellsUtf8FromOtherBytes) {
    EXPECT_TRUE(is_utf8("caf\xC3\xA9 \xE2\x80\x93 \xF0\x9F\xAA\xA8"));
    // A lone Latin-1 letter, a cut sequence, an overlong slash, a surrogate, beyond the last code point.
    for (const char* bytes : {"caf\xE9", "caf\xC3", "\xC0\xAF", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\x80"}) {
        EXPECT_FALSE(is_utf8(bytes)) << bytes;
    }
    EXPECT_EQ(utf8_from_latin1("caf\xE9 \xB0"), "caf\xC3\xA9 \xC2\xB0");
    // python3 -c "print(b'\x80\x85\x91\x96\x99\x9f'.decode('cp1252'))", Python 3.11
    EXPECT_EQ(utf8_from_latin1("\x80\x85\x91\x96\x99\x9F"), "€…‘–™Ÿ");
}

TEST(TextValues, TrimsSplitsAndSaysYesOrNo) {
    EXPECT_EQ(trimmed(" \t\xC2\xA0 a b\xC2\xA0\r\n"), "a b");
    EXPECT_THAT(split_list(" ash ;; oak;"), ElementsAre("ash", "oak"));
    EXPECT_EQ(read_yes_no(" Yes "), true);
    EXPECT_EQ(read_yes_no("0"), false);
    EXPECT_EQ(read_yes_no("perhaps"), std::nullopt);
    EXPECT_EQ(number_text(7.50), "7.5");
    EXPECT_EQ(number_text(12), "12");
}

}  // namespace
}  // namespace subcrop::io
