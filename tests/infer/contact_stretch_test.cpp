#include "subcrop/infer/contact_stretch.hpp"

#include <gtest/gtest.h>

#include <numeric>
#include <vector>

#include "infer/invented_survey.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/infer/where_to_dig.hpp"

namespace subcrop::infer {
namespace {

/// One straight contact of 4 km, from y = -2000 to 2000 or the other way; nothing is moved. Its stops say what they are
/// told to say.
struct Straight {
    InventedSurvey invented;
    std::unique_ptr<geo::UnitMap> map;
    Fit fit;
    Relocation relocation;

    Straight() {
        ProblemLog problems;
        map = std::make_unique<geo::UnitMap>(invented.survey.map, 2, geo::UnitMapOptions{.contact_sd_m = 25}, problems);
        fit.contact_sd_m = 25;
        fit.contacts.resize(1);
        relocation.contacts.resize(1);
        relocation.contacts[0].half_widths_m = {41};
    }
    double start_y() const { return map->contacts()[0].line.front().y; }
    /// A stop 60 m west of the contact at `along_m` from its start.
    void stop(double along_m, double log10_odds_against) {
        invented.add_stop(-60, start_y() < 0 ? start_y() + along_m : start_y() - along_m, "", "");
        StopFit judged;
        judged.mapped_unit = 0;
        judged.neighbour_unit = 1;
        fit.stops.push_back(judged);
        fit.contacts[0].add({static_cast<std::uint32_t>(fit.stops.size() - 1), log10_odds_against});
    }
    const std::vector<ContactStretch>& parts(const std::vector<TraverseCrossing>& crossings = {}) {
        review_stretches(invented.survey, *map, fit, crossings, relocation, 1);
        return relocation.contacts[0].parts;
    }
    std::optional<DigPlace> dig(std::size_t part) const {
        return where_to_dig(invented.survey, *map, fit, relocation, 0, relocation.contacts[0].parts[part]);
    }
};

using Reviews = std::vector<Review>;
Reviews reviews_of(const std::vector<ContactStretch>& parts) {
    Reviews reviews;
    for (const ContactStretch& part : parts) reviews.push_back(part.review);
    return reviews;
}

TEST(ContactStretch, AContactWithoutStopsIsOneUntestedStretch) {
    Straight contact;
    ASSERT_EQ(reviews_of(contact.parts()), Reviews{Review::untested});
    EXPECT_EQ(contact.parts()[0].from_m, 0);
    EXPECT_DOUBLE_EQ(contact.parts()[0].to_m, 4000);
    EXPECT_EQ(review_of(contact.relocation, 0), Review::untested);
    const auto dig = contact.dig(0);
    ASSERT_TRUE(dig);
    EXPECT_EQ(dig->place, (Point{0, 0}));  // farthest from both ends
    EXPECT_EQ(dig->to_either_side_m, 41);
    EXPECT_EQ(dig->sentence,
              "Dig on both sides of 0 east, 0 north, 41 m from it: WES and EAS if the contact is right.");
}

TEST(ContactStretch, AStopTestsItsContactFourStandardErrorsFarAlongIt) {
    Straight contact;
    contact.stop(1500, -2);
    contact.stop(1600, -1);
    ASSERT_EQ(reviews_of(contact.parts()), (Reviews{Review::untested, Review::supported, Review::untested}));
    EXPECT_DOUBLE_EQ(contact.parts()[1].from_m, 1400);
    EXPECT_DOUBLE_EQ(contact.parts()[1].to_m, 1700);
    EXPECT_EQ(contact.parts()[1].supporting, (std::vector<std::uint32_t>{0, 1}));
    EXPECT_DOUBLE_EQ(contact.parts()[1].log10_odds_against, -3);
    EXPECT_FALSE(contact.dig(1));
    EXPECT_EQ(review_of(contact.relocation, 0), Review::supported);
}

TEST(ContactStretch, IsCutWhereTheStopsChangeTheirMind) {
    Straight contact;
    for (int i = 0; i < 20; ++i) contact.stop(100 + 200 * i, i < 10 ? 0.5 : -0.5);
    ASSERT_EQ(reviews_of(contact.parts()), (Reviews{Review::doubtful, Review::supported}));
    EXPECT_DOUBLE_EQ(contact.parts()[0].to_m, 2000);
    EXPECT_EQ(contact.parts()[0].contradicting.size(), 10U);
    EXPECT_EQ(review_of(contact.relocation, 0), Review::doubtful);  // as a whole the stops are even
    const auto dig = contact.dig(0);
    ASSERT_TRUE(dig);
    EXPECT_EQ(dig->place.x, -41);  // on the side of the stops that contradict it, beyond the zone
    EXPECT_EQ(dig->if_drawn, 0);
    EXPECT_EQ(dig->if_not, 1);
}

TEST(ContactStretch, OneStopThatDisagreesCutsNothing) {
    Straight contact;
    for (int i = 0; i < 20; ++i) contact.stop(100 + 200 * i, i == 10 ? 1.9 : -0.5);
    EXPECT_EQ(reviews_of(contact.parts()), Reviews{Review::supported});  // two cuts cost more than it says
    EXPECT_EQ(contact.parts()[0].contradicting, std::vector<std::uint32_t>{10});
}

TEST(ContactStretch, NoOtherCutHasALargerSum) {
    // By trying all ways to put ten stops in doubt or not.
    std::vector<double> odds{0.7, 0.9, -0.4, 1.2, -0.8, -0.6, 0.3, -0.2, 0.9, 0.4};
    double best = 0;
    for (unsigned ways = 0; ways < 1u << odds.size(); ++ways) {
        double sum = 0;
        for (std::size_t i = 0; i < odds.size(); ++i) {
            if (ways >> i & 1u) sum += odds[i];
            if (i > 0 && (ways >> i & 1u) != (ways >> (i - 1) & 1u)) sum -= 1;
        }
        best = std::max(best, sum);
    }
    Straight contact;
    for (std::size_t i = 0; i < odds.size(); ++i) contact.stop(100 + 200 * static_cast<double>(i), odds[i]);
    double sum = 0;
    const std::vector<ContactStretch> parts = contact.parts();
    std::size_t tested = 0;
    for (const ContactStretch& part : parts) {
        if (part.review == Review::doubtful) sum += part.log10_odds_against;
        tested += part.stops > 0;
    }
    EXPECT_NEAR(sum - static_cast<double>(tested - 1), best, 1e-12);
}

TEST(ContactStretch, ATraverseThatCrossesElsewherePutsOneStretchInDoubt) {
    Straight contact;
    contact.stop(150, -2);
    contact.stop(3850, -2);
    TraverseCrossing crossing;
    crossing.from_unit = 0;
    crossing.to_unit = 1;
    crossing.status = CrossingStatus::displaced;
    crossing.mapped_chainage_m = 100;
    crossing.chainage_m = 170;
    crossing.low_m = 150;
    crossing.high_m = 190;
    crossing.offset_m = 70;
    crossing.place = {70, contact.start_y() < 0 ? contact.start_y() + 150 : contact.start_y() - 150};
    ASSERT_EQ(reviews_of(contact.parts({crossing})), (Reviews{Review::doubtful, Review::untested, Review::supported}));
    EXPECT_EQ(contact.relocation.contacts[0].crossed_elsewhere, 1U);
    EXPECT_EQ(contact.parts({crossing})[0].crossed_elsewhere, crossing.place);
    EXPECT_GT(contact.dig(0)->place.x, 0);  // on the side where the traverse crosses it
    crossing.low_m = 90;                    // the interval holds the drawn line
    EXPECT_EQ(contact.parts({crossing})[0].review, Review::supported);
}

TEST(ContactStretch, NoHoleIsSuggestedInANoGoArea) {
    Straight contact;
    contact.invented.survey.no_go = {{{{-100, -3000}, {0, -3000}, {0, 3000}, {-100, 3000}, {-100, -3000}}, {}}};
    contact.stop(2000, 3);
    ASSERT_EQ(contact.parts()[1].review, Review::doubtful);
    EXPECT_FALSE(contact.dig(1));  // the side in doubt is closed
    EXPECT_FALSE(contact.dig(0));  // so is one of the two holes
}

}  // namespace
}  // namespace subcrop::infer
