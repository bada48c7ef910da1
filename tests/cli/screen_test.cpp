#include "cli/screen.hpp"

#include <gtest/gtest.h>

#include <sstream>

#include "cli/visible.hpp"

namespace subcrop::cli {
namespace {

TEST(Screen, WidthCountsLettersNotBytes) {
    EXPECT_EQ(width_of("Moränenlehm"), 11U);
    EXPECT_EQ(width_of(""), 0U);
}

TEST(Screen, SentencesWrapBesideTheirIndent) {
    EXPECT_EQ(wrapped("short", 4, 60), "short");
    EXPECT_EQ(wrapped("one two three four five six seven eight", 2, 26), "one two three four five\n  six seven eight");
    EXPECT_EQ(wrapped("averyveryverylongwordthatfitsnowhere at all", 2, 26),
              "averyveryverylongwordthatfitsnowhere\n  at all");
}

TEST(Screen, PairsStandInColumns) {
    std::ostringstream out;
    print_pairs(out, {{"Ä", "first"}, {"BCD", "second"}}, 80);
    EXPECT_EQ(out.str(), "  Ä    first\n  BCD  second\n");
}

TEST(Screen, NumbersAreGroupedByThousands) {
    EXPECT_EQ(grouped(0), "0");
    EXPECT_EQ(grouped(999), "999");
    EXPECT_EQ(grouped(1000), "1,000");
    EXPECT_EQ(grouped(1234567), "1,234,567");
    EXPECT_EQ(counted(1, "stop", "stops"), "1 stop");
    EXPECT_EQ(counted(0, "stop", "stops"), "0 stops");
}

TEST(Screen, ProblemsReadAsSentences) {
    Problem problem;
    problem.source = "stops.csv";
    problem.row = 12;
    problem.field = "colour_moist";
    problem.message = "no Munsell hue is written '10XR'";
    EXPECT_EQ(sentence(problem), "stops.csv, row 12, field colour_moist: no Munsell hue is written '10XR'.");
    problem.remedy = "Write the hue as a number and letters, such as 10YR.";
    EXPECT_EQ(sentence(problem),
              "stops.csv, row 12, field colour_moist: no Munsell hue is written '10XR'. Write the hue as a number and "
              "letters, "
              "such as 10YR.");
}

TEST(Screen, ProblemsNameTheValueOnceAndALongOneInShort) {
    Problem problem;
    problem.source = "stops.csv";
    problem.row = 3;
    problem.field = "slope_deg";
    problem.value = "n/a";
    problem.message = "this is not a number";
    EXPECT_EQ(sentence(problem), "stops.csv, row 3, field slope_deg, 'n/a': this is not a number.");
    problem.message = "'n/a' is not a number";
    EXPECT_EQ(sentence(problem), "stops.csv, row 3, field slope_deg: 'n/a' is not a number.");
    problem.value = std::string(10000, 'S');
    problem.message = "no stop is called '" + problem.value + "'";
    EXPECT_EQ(sentence(problem),
              "stops.csv, row 3, field slope_deg: no stop is called '" + std::string(60, 'S') + "...'.");
}

TEST(Screen, ProblemsWithoutARowTellThePlace) {
    Problem problem;
    problem.source = "map.gpkg";
    problem.message = "a gap";
    problem.position = Point{501500.4, 6200500.2};
    EXPECT_EQ(sentence(problem), "map.gpkg, at x 501500, y 6200500: a gap.");
}

TEST(Screen, ControlCharactersOfTheDataDoNotReachTheTerminal) {
    EXPECT_EQ(wrapped("\x1b[31mred", 0, 60), "\\u{1b}[31mred");
    EXPECT_EQ(wrapped("two\nlines", 0, 60), "two\\u{a}lines");
    std::ostringstream out;
    print_pairs(out, {{"a\x1b]0;title", "b"}}, 60);
    EXPECT_EQ(out.str(), "  a\\u{1b}]0;title  b\n");
}

TEST(Screen, WhatCommandsATerminalIsShown) {
    EXPECT_EQ(visible("plain \xC3\xA9 \xE2\x80\x9C \xF0\x9F\xA7\xB1"), "plain \xC3\xA9 \xE2\x80\x9C \xF0\x9F\xA7\xB1");
    EXPECT_EQ(visible("\xC2\x9B"
                      "2J\x7F\t\r"),
              "\\u{9b}2J\\u{7f}\\u{9}\\u{d}");
    EXPECT_EQ(visible("a\xE2\x80\xAE"
                      "b\xE2\x81\xA6"
                      "c\xE2\x80\x8F"),
              "a\\u{202e}b\\u{2066}c\\u{200f}");
    EXPECT_EQ(visible("\xE2\x80\xA8\xF3\xA0\x81\x81"), "\\u{2028}\\u{e0041}");
    // No UTF-8: a lone byte, one cut short, an overlong one, half a surrogate pair.
    EXPECT_EQ(visible("\x9B"
                      "2J"),
              "\\x{9b}2J");
    EXPECT_EQ(visible("\xE2\x80"), "\\x{e2}\\x{80}");
    EXPECT_EQ(visible("\xC0\x9B"), "\\x{c0}\\x{9b}");
    EXPECT_EQ(visible("\xED\xA0\x80"), "\\x{ed}\\x{a0}\\x{80}");
    EXPECT_EQ(visible_in_json("{\"a\": \"\xC2\x9B\xE2\x80\xAE\x7F\xC3\xA9\xF3\xA0\x81\x81\"\n}"),
              "{\"a\": \"\\u009b\\u202e\\u007f\xC3\xA9\\udb40\\udc41\"\n}");
}

TEST(Screen, RowsWithTheSameMistakeShareASentence) {
    std::vector<Problem> problems(10);
    for (std::size_t i = 0; i < problems.size(); ++i) {
        problems[i].row = static_cast<std::int64_t>(i + 1);
        problems[i].message = i == 4 ? "worse" : "bad";
    }
    std::ostringstream out;
    print_problems(out, problems, 50, problems.size(), "", 100);
    EXPECT_EQ(out.str(), "  warning  rows 1, 2, 3, 4, 6 and 4 more: bad.\n  warning  row 5: worse.\n");
}

TEST(Screen, CountsOfProblemsLeaveOutWhatThereIsNoneOf) {
    EXPECT_EQ(problem_counts(0, 0, 0), "");
    EXPECT_EQ(problem_counts(1, 0, 2000), "1 error, 2,000 notes");
}

TEST(Screen, OperationsTellTheirAccuracy) {
    model::CoordinateOperation same, shifted, unknown;
    same.source = "map.gpkg";
    same.from = same.to = "WGS 84 / UTM zone 33N";
    shifted = {"stops.csv", "NAD27", "WGS 84 / UTM zone 13N", "NAD27 to WGS 84 (33)", 7.0, false};
    unknown = {"old.shp", "A", "B", "C", std::nullopt, true};
    std::ostringstream out;
    print_operations(out, {same, shifted, unknown}, 200);
    EXPECT_EQ(out.str(),
              "\nCoordinates\n"
              "  map.gpkg   WGS 84 / UTM zone 33N, not transformed\n"
              "  stops.csv  NAD27 to WGS 84 / UTM zone 13N by NAD27 to WGS 84 (33), accurate to 7 m\n"
              "  old.shp    A to B by C, accuracy not published; WITHOUT the datum shift it needs: it may be off by "
              "hundreds of metres\n");
}

TEST(Screen, ProblemsBeyondTheFirstAreCounted) {
    Problem problem;
    problem.severity = Severity::error;
    problem.message = "bad";
    std::ostringstream out;
    print_problems(out, {problem, problem}, 1, 1500, " elsewhere", 80);
    EXPECT_EQ(out.str(), "  error  bad.\n  and 1,499 more elsewhere\n");
}

}  // namespace
}  // namespace subcrop::cli
