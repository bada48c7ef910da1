#include "infer/contacts/crossing_match.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace subcrop::infer {
namespace {

constexpr double reach = 200;

FoundCrossing found(model::UnitIndex from, model::UnitIndex to, double middle) {
    return {0, from, to, 1, {middle, middle - 20, middle + 20}};
}

TEST(CrossingMatch, PairsTheSameChangeInOrder) {
    const std::vector<FoundCrossing> there{found(0, 1, 100), found(1, 0, 300), found(0, 1, 500)};
    const std::vector<MappedCrossing> draft{{130, 0, 1}, {320, 1, 0}, {520, 0, 1}};
    const auto match = match_crossings(there, draft, {}, reach);
    for (std::size_t i = 0; i < 3; ++i) {
        ASSERT_TRUE(match[i]) << i;
        EXPECT_EQ(match[i]->first, i);
        EXPECT_EQ(match[i]->last, i);
    }
    EXPECT_FALSE(match_crossings(std::vector{found(0, 1, 100)}, std::vector<MappedCrossing>{{130, 1, 0}}, {},
                                 reach)[0]);  // the other way round
    EXPECT_FALSE(match_crossings(std::vector{found(0, 1, 100)}, std::vector<MappedCrossing>{{301, 0, 1}}, {},
                                 reach)[0]);  // too far
}

TEST(CrossingMatch, AChangeAcrossAStripWithoutStopsIsThatOfBothItsContacts) {
    const std::vector<FoundCrossing> there{found(0, 2, 110)};
    const std::vector<MappedCrossing> draft{{100, 0, 1}, {140, 1, 2}};
    const std::vector<double> beside{0, 90, 150, 200}, inside{0, 90, 120, 150};
    const auto match = match_crossings(there, draft, beside, reach);
    ASSERT_TRUE(match[0]);
    EXPECT_EQ(match[0]->first, 0U);
    EXPECT_EQ(match[0]->last, 1U);
    EXPECT_FALSE(match_crossings(there, draft, inside, reach)[0]);  // a stop in the strip should have found it
    const std::vector<MappedCrossing> three{{100, 0, 1}, {120, 1, 3}, {140, 3, 2}};
    EXPECT_EQ(match_crossings(there, three, beside, reach)[0]->last, 2U);
    // what one to one has matched is not taken again, and the order holds
    const std::vector<FoundCrossing> both{found(0, 2, 60), found(0, 1, 95)};
    EXPECT_FALSE(match_crossings(both, draft, beside, reach)[0]);
    EXPECT_EQ(match_crossings(both, draft, beside, reach)[1]->last, 0U);
}

}  // namespace
}  // namespace subcrop::infer
