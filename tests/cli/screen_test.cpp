#include "cli/screen.hpp"

#include <gtest/gtest.h>

#include <sstream>

namespace subcrop::cli {
namespace {

TEST(Screen, WidthCountsLettersNotBytes) {
    EXPECT_EQ(width_of("Moränenlehm"), 11U);
    EXPECT_EQ(width_of(""), 0U);
}

TEST(Screen, SentencesWrapBesideTheirIndent) {
    EXPECT_EQ(wrapped("short", 4, 60), "short");
    EXPECT_EQ(wrapped("one two three four five six seven eight", 2, 26), "one two three four five\n  six seven eight");
    EXPECT_EQ(wrapped("averyveryverylongwordthatfitsnowhere at all", 2, 26), "averyveryverylongwordthatfitsnowhere\n  at all");
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
              "stops.csv, row 12, field colour_moist: no Munsell hue is written '10XR'. Write the hue as a number and letters, "
              "such as 10YR.");
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
              "  map.gpkg   WGS 84 / UTM zone 33N, as it is\n"
              "  stops.csv  NAD27 to WGS 84 / UTM zone 13N by NAD27 to WGS 84 (33), good to 7 m\n"
              "  old.shp    A to B by C, accuracy not published; WITHOUT the datum shift it needs, so that it may be off by some "
              "hundred metres\n");
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
