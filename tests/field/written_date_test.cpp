#include "subcrop/field/written_date.hpp"

#include <gtest/gtest.h>

#include <string>

namespace subcrop::field {
namespace {

TEST(WrittenDate, IsReadWhereItMeansOneDay) {
    for (const std::string text : {"2026-05-12", "2026/05/12", "2026.5.12", "20260512", "12 May 2026", "May 12, 2026",
                                   "12th of May 2026", "Tue 12 May 2026", "Tuesday, May 12th, 2026", "12-May-2026",
                                   "2026 May 12", "12.V.2026", "12 v 2026", "MAY 12 2026"}) {
        EXPECT_EQ(read_date(text).value.value_or(read_date(text).message), "2026-05-12") << text;
    }
    EXPECT_EQ(*read_date("13/05/2026").value, "2026-05-13");
    EXPECT_EQ(*read_date("05/13/2026").value, "2026-05-13");
    EXPECT_EQ(*read_date("5.5.2026").value, "2026-05-05");
    EXPECT_EQ(*read_date("05.12.2026").value, "2026-12-05");  // common practice, no source
    EXPECT_EQ(*read_date("5. 12. 2026 14:30").value, "2026-12-05 14:30");
    EXPECT_EQ(*read_date("2024-02-29").value, "2024-02-29");
    EXPECT_EQ(*read_date("3 Sept 2026").value, "2026-09-03");
    EXPECT_EQ(*read_date("12 May 2026 14:30").value, "2026-05-12 14:30");
    EXPECT_EQ(*read_date("2026-05-12T14:30:05Z").value, "2026-05-12 14:30:05");
    EXPECT_EQ(*read_date("5/14/2026 2:30 PM").value, "2026-05-14 14:30");
    EXPECT_EQ(*read_date("5/14/2026 12:05am").value, "2026-05-14 00:05");
    EXPECT_EQ(*read_date("14.5.2026 9:30 Uhr").value, "2026-05-14 9:30");
    EXPECT_EQ(read_date("5/14/2026 14:30 PM").message, "there is no such time of day");
    EXPECT_EQ(read_date("5/14/2026 :3 PM").message, "there is no such time of day");
}

TEST(WrittenDate, IsAskedForWhereItDoesNot) {
    EXPECT_EQ(read_date("May 12").message, "the date lacks its year");
    EXPECT_EQ(read_date("May 12").remedy, "Write the year too, such as 2026-05-12.");
    EXPECT_EQ(read_date("12.5.").message, "the date lacks its year");
    EXPECT_EQ(read_date("05/12/2026").message, "this may be 5 December or 12 May");
    EXPECT_EQ(read_date("05-12-2026").message, "this may be 5 December or 12 May");
    EXPECT_EQ(read_date("05.12/2026").message, "this may be 5 December or 12 May");
    EXPECT_EQ(read_date("12 May 26").message, "the year does not have four digits");
    EXPECT_EQ(read_date("12/5/26").message, "the year does not have four digits");
    EXPECT_EQ(read_date("May 2026").message, "the date lacks its day");
    EXPECT_EQ(read_date("31 April 2026").message, "this month has no day 31");
    EXPECT_EQ(read_date("2026-02-29").message, "this month has no day 29");
    EXPECT_EQ(read_date("2026-13-01").message, "there is no month 13");
    EXPECT_EQ(read_date("spring").message, "'spring' is no month");
    EXPECT_EQ(read_date("").message, "this is no date");
    EXPECT_FALSE(read_date(std::string(500, '1')));
    EXPECT_FALSE(read_date("\xff\xfe"));
}

TEST(WrittenDate, TimesAreCountedFrom1970) {
    EXPECT_EQ(seconds_of("1970-01-01 00:00"), 0);
    EXPECT_EQ(seconds_of("2026-05-12 10:22:31"), 1778581351);  // date -u -d '2026-05-12 10:22:31' +%s
    EXPECT_EQ(seconds_of("2024-02-29 23:59"), 1709251140);
    EXPECT_FALSE(seconds_of("2026-05-12"));
    EXPECT_FALSE(seconds_of("2026-02-29 10:00"));
    EXPECT_FALSE(seconds_of("2026-05-12 25:00"));
    EXPECT_FALSE(seconds_of(""));
}

}  // namespace
}  // namespace subcrop::field
