#include "subcrop/field/written_place.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <string>
#include <vector>

#include "figures.hpp"

namespace subcrop::field {
namespace {

using testing::HasSubstr;
using testing::StartsWith;

TEST(WrittenPlace, AgreesWithProjOnPlacesAsPeopleWriteThem) {
    std::ifstream file(std::string(SUBCROP_SOURCE_DIR) + "/tests/reference/written_places.tsv");
    ASSERT_TRUE(file);
    std::size_t cases = 0;
    bool head = true;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line[0] == '#') continue;
        if (std::exchange(head, false)) continue;
        std::vector<std::string> cells = figures::split(line, '\t');
        cells.resize(8);
        SCOPED_TRACE(cells[0]);
        const Parsed<WrittenPlace> read = read_place(cells[0]);
        ASSERT_TRUE(read) << read.message;
        EXPECT_THAT(read.message, StartsWith("read as "));
        if (cells[1] == "degrees") {
            ASSERT_EQ(read.value->kind, WrittenPlace::Kind::degrees);
            EXPECT_NEAR(read.value->y, std::stod(cells[2]), 1e-9);  // PROJ printed ten decimals
            EXPECT_NEAR(read.value->x, std::stod(cells[3]), 1e-9);
        } else {
            ASSERT_EQ(read.value->kind, cells[1] == "utm" ? WrittenPlace::Kind::utm : WrittenPlace::Kind::grid);
            if (cells[1] == "utm") {
                EXPECT_EQ(read.value->zone, std::stoi(cells[4]));
                EXPECT_EQ(read.value->north, cells[5] == "north");
            }
            EXPECT_EQ(read.value->x, std::stod(cells[6]));
            EXPECT_EQ(read.value->y, std::stod(cells[7]));
        }
        ++cases;
    }
    EXPECT_GE(cases, 60U);
}

TEST(WrittenPlace, EachReadingIsEchoed) {
    EXPECT_EQ(read_place("N 45 12.345 E 3 40.2").message, "read as 45.20575° N, 3.67° E");
    EXPECT_EQ(read_place("33°52'07.7\"S 151°12'33.5\"E").message, "read as 33.868806° S, 151.209306° E");
    EXPECT_EQ(read_place("31V 540595 6231941").message, "read as UTM zone 31 north, 540595 east, 6231941 north");
    // 6231941 m north of the equator is 56.23 degrees (cs2cs), and band U ends at 56
    EXPECT_EQ(read_place("31U 540595 6231941").message,
              "read as UTM zone 31 north, 540595 east, 6231941 north; the northing lies in band V, not U");
    EXPECT_EQ(read_place("6231841N 540346E").message, "read as 540346 east, 6231841 north");
}

TEST(WrittenPlace, WhatMayMeanTwoThingsIsRefusedWithBoth) {
    const auto refused = [](const std::string& text, const std::string& message) {
        const Parsed<WrittenPlace> read = read_place(text);
        EXPECT_FALSE(read) << text << ": " << read.message;
        EXPECT_THAT(read.message, HasSubstr(message)) << text;
        EXPECT_NE(read.remedy, "") << text;
    };
    refused("45.2 3.67", "which of the two is the latitude");
    refused("45.2, 3.67", "which of the two is the latitude");
    refused("45,3", "one coordinate in it, and a place has two (the comma was taken as the decimal mark)");
    refused("45 12 3 40", "where the latitude ends");
    refused("31S 540595 6231941", "band S, north of the equator, or the southern half");
    refused("31 540595 6231941", "half of the Earth");
    refused("-3.67 W 45.2 N", "contradict");
    refused("3,67 O 45,2 N", "east in some languages and west in others");
    refused("45 61.2 N 3 40 E", "60 minutes");
    refused("45 12 60 N 3 40 0 E", "60 seconds");
    refused("45.5 12 N 3 40 E", "last part");
    refused("95 N 3 E", "90 degrees");
    refused("45 N 190 E", "180 degrees");
    refused("45 N 3 N", "both coordinates are latitudes");
    refused("lat 45 E lon 3 N", "latitude cannot lie east");
    refused("45°12\" N 3°40' E", "mark of seconds");
    refused("4512.345 N 0340.2 E", "too large for degrees");
    refused("4512.345 N 01234.5 E", "run together");
    refused("31V 6231941 540595", "exchanged");
    refused("61V 540595 6231941", "too small for metres");
    refused("31I 540595 6231941", "no band");
    refused("31V 540595", "one coordinate");
    refused("", "no place");
    refused("by the old ash", "the word 'by'");
    refused("45 N 3 E 200 m", "more than two");
    refused(std::string(1000, '1'), "too long");
    refused(std::string(150, '1') + " east, 6231841 north", "too large for a place on Earth");
    refused("0." + std::string(180, '0') + "1 N 3 E 5", "more than two");
}

TEST(WrittenPlace, ColumnsHoldOneAxis) {
    EXPECT_DOUBLE_EQ(*read_angle("3°40'12.0\"W", Axis::longitude).value, -(3 + 40 / 60.0 + 12 / 3600.0));
    EXPECT_DOUBLE_EQ(*read_angle("N 45 12.345", Axis::latitude).value, 45 + 12.345 / 60);
    EXPECT_DOUBLE_EQ(*read_angle("45.2050 N", Axis::latitude).value, 45.205);
    EXPECT_DOUBLE_EQ(*read_angle("-45:12:18", Axis::latitude).value, -(45 + 12 / 60.0 + 18 / 3600.0));
    EXPECT_EQ(read_angle("45.2050 N", Axis::latitude).message, "read as 45.205 degrees");
    EXPECT_EQ(read_angle("3.67 E", Axis::latitude).message, "this is a longitude in a column of latitudes");
    EXPECT_EQ(read_angle("45.2 N", Axis::longitude).message, "this is a latitude in a column of longitudes");
    EXPECT_FALSE(read_angle("95", Axis::latitude));
    EXPECT_FALSE(read_angle("540595", Axis::longitude));
}

}  // namespace
}  // namespace subcrop::field
