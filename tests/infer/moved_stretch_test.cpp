#include "subcrop/infer/moved_stretch.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "subcrop/infer/relocate.hpp"

namespace subcrop::infer {
namespace {

// Worked by hand. The draft runs east along y = 0, its vertices 100 m apart; two of them move 60 m north, those at the
// ends stay. The zone is 30 m to either side. Along the first edge the shift grows from 0 to 60 m and is 30 m half way,
// at x = 50; along the third it falls to 30 m at x = 250. So 200 m run elsewhere: 50 m by 45 m on average, 100 m by 60
// m, 50 m by 45 m.
TEST(MovedStretches, TwoPolylinesByHand) {
    const Line drafted{{0, 0}, {100, 0}, {200, 0}, {300, 0}, {400, 0}},
        moved{{0, 0}, {100, 60}, {200, 60}, {300, 0}, {400, 0}};
    const auto stretches =
        moved_stretches(drafted, moved, std::vector<double>{0, 60, 60, 0, 0}, std::vector<double>(5, 30));
    ASSERT_EQ(stretches.size(), 1u);
    const MovedStretch& stretch = stretches[0];
    EXPECT_NEAR(stretch.length_m, 200, 1e-9);
    EXPECT_NEAR(stretch.shift_m, (50 * 45 + 100 * 60 + 50 * 45) / 200., 1e-9);
    EXPECT_NEAR(stretch.min_m, 30, 1e-9);
    EXPECT_NEAR(stretch.max_m, 60, 1e-9);
    EXPECT_NEAR(stretch.shift_sd_m, 30 / 1.6448536, 1e-6);  // the 95 % point of the normal distribution, any table
    EXPECT_NEAR(stretch.azimuth_deg.value(), 0, 1e-9);
    EXPECT_NEAR(stretch.middle.x, 150, 1e-9);
    const Line draft_part{{50, 0}, {100, 0}, {200, 0}, {250, 0}}, moved_part{{50, 30}, {100, 60}, {200, 60}, {250, 30}};
    EXPECT_EQ(stretch.drafted, draft_part);
    EXPECT_EQ(stretch.moved, moved_part);
}

TEST(MovedStretches, AParallelLineIsOneStretchWhateverItsVertices) {
    Line drafted, moved;
    for (int i = 0; i <= 37; ++i) {
        drafted.push_back({0, 1000 * i / 37.});
        moved.push_back({-35, 1000 * i / 37.});
    }
    const auto stretches = moved_stretches(drafted, moved, std::vector<double>(38, -35), std::vector<double>(38, 34.9));
    ASSERT_EQ(stretches.size(), 1u);
    EXPECT_NEAR(stretches[0].length_m, 1000, 1e-9);
    EXPECT_NEAR(stretches[0].shift_m, 35, 1e-9);
    EXPECT_NEAR(stretches[0].azimuth_deg.value(), 270, 1e-9);
    EXPECT_TRUE(moved_stretches(drafted, moved, std::vector<double>(38, -35), std::vector<double>(38, 35))
                    .empty());  // just within its zone
}

TEST(MovedStretches, EndsWhereTheZoneHoldsTheDraftAndWhereTheSignChanges) {
    const Line drafted{{0, 0}, {100, 0}, {200, 0}, {300, 0}};
    // Out, in, out; and to the other side within one edge, of which nothing is told.
    EXPECT_EQ(moved_stretches(drafted, drafted, std::vector<double>{50, 50, 10, 50}, std::vector<double>(4, 30)).size(),
              2u);
    const auto either_way =
        moved_stretches(drafted, drafted, std::vector<double>{50, 50, -50, -50}, std::vector<double>(4, 30));
    ASSERT_EQ(either_way.size(), 2u);
    EXPECT_NEAR(either_way[0].length_m + either_way[1].length_m, 200, 1e-9);
    // A nick shorter than it is moved is none.
    const Line nick{{0, 0}, {40, 0}};
    EXPECT_TRUE(moved_stretches(nick, nick, std::vector<double>{50, 50}, std::vector<double>(2, 30)).empty());
    EXPECT_EQ(moved_stretches(nick, nick, std::vector<double>{39, 39}, std::vector<double>(2, 30)).size(), 1u);
    // A repeated vertex has no length and changes nothing.
    const Line twice{{0, 0}, {0, 0}, {100, 0}};
    const auto one = moved_stretches(twice, twice, std::vector<double>{50, 50, 50}, std::vector<double>(3, 30));
    ASSERT_EQ(one.size(), 1u);
    EXPECT_NEAR(one[0].length_m, 100, 1e-9);
}

}  // namespace
}  // namespace subcrop::infer
