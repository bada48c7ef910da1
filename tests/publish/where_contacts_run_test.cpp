#include "publish/where_contacts_run.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

namespace subcrop::publish {
namespace {

using testing::HasSubstr;

infer::MovedLength length_of(double moved, double of, double mean, double least, double most) {
    return {
        .length_m = moved, .of_m = of, .mean_m = mean, .min_m = least, .max_m = most, .stretches = moved > 0 ? 1U : 0U};
}

TEST(WhereContactsRun, LengthsAreToldInKilometresOrMetres) {
    EXPECT_EQ(contacts_in_a_line(length_of(3140, 46960, 35.2, 10.4, 80.4)),
              "Contacts are misplaced along 3.1 of 47.0 km, by 35 m on average (10 to 80 m)");
    EXPECT_EQ(contacts_in_a_line(length_of(398, 96010, 36, 34, 36)),
              "Contacts are misplaced along 398 m of 96.0 km, by 36 m on average (34 to 36 m)");
    EXPECT_EQ(contacts_in_a_line(length_of(320, 840, 50, 50.2, 49.8)),
              "Contacts are misplaced along 320 of 840 m, by 50 m on average");
}

TEST(WhereContactsRun, NoneIsSaidPlainlyAndClaimsNoMoreThanTheStopsTell) {
    EXPECT_EQ(contacts_in_a_line(length_of(0, 840, 0, 0, 0)),
              "No contact needs to move, as far as these stops can tell");
    infer::Relocation still;
    still.contacts.resize(2);
    infer::RevisedMap revised;
    revised.area_m2 = 3e7;
    infer::Fit fit;
    EXPECT_THAT(contacts_because({}, fit, still, revised), HasSubstr("Not asked."));
    fit.shift.decided_by = "soil";
    fit.contacts.resize(2);
    still.contacts[0].parts = {{.to_m = 400, .review = infer::Review::untested},
                               {.from_m = 400, .to_m = 840, .review = infer::Review::supported}};
    still.contacts[1].parts = {{.to_m = 300, .review = infer::Review::untested}};
    EXPECT_EQ(contacts_because({}, fit, still, revised),
              "Moving contacts did not improve predictions at hidden stops. 1 of 2 contacts has too few stops nearby "
              "to test. The revised map is the draft as drawn.");
    revised.changed_m2 = 1.46e4;
    EXPECT_THAT(contacts_because({}, fit, still, revised),
                HasSubstr("The revised map gives 1.5 of 3000 ha to another unit."));
    still.moved = true;
    fit.shift.amplitude_m = 16;
    fit.shift.reach_m = 569;
    EXPECT_THAT(
        contacts_because({}, fit, still, revised),
        HasSubstr("Everywhere the drawn line lies inside the 90 % zone. Moving the contacts smoothly predicts soil at "
                  "hidden stops better than the draft does. The displacement has an amplitude of about 16 m and "
                  "a correlation length of about 569 m."));
}

TEST(WhereContactsRun, AStretchMovesWhileTheDraftAsAWholeStays) {
    infer::Relocation relocation;
    relocation.moved = true;
    relocation.contacts.resize(1);
    infer::Fit fit;
    fit.shift.decided_by = "soil";
    infer::MisplacedStretch stretch;
    stretch.log_odds = std::log(30.);
    fit.shift.stretches = {stretch};
    EXPECT_EQ(
        contacts_because(length_of(300, 840, 60, 50, 70), fit, relocation, {}),
        "The draft as a whole stays. 1 stretch of contact moves, because the stops beside it support it (odds of 30 "
        "to 1). There the drawn line lies outside the 90 % zone. The revised map is the draft as drawn.");
}

// Two contacts by hand: stretches of 100 m by 30 m (3000 m2 between draft and contact), 80 m by 50 m (4000 m2), and 10
// m by 90 m (900 m2).
TEST(WhereContactsRun, TheStretchWithTheLargestAreaComesFirstAndSumsHold) {
    infer::Relocation relocation;
    relocation.contacts.resize(2);
    const auto stretch = [](double length, double shift) {
        infer::MovedStretch s;
        s.length_m = length;
        s.shift_m = s.min_m = s.max_m = shift;
        return s;
    };
    relocation.contacts[0].stretches = {stretch(100, 30), stretch(10, 90)};
    relocation.contacts[1].stretches = {stretch(80, 50)};
    const auto order = largest_stretches(relocation);
    ASSERT_EQ(order.size(), 3U);
    EXPECT_EQ(order[0].contact, 1U);
    EXPECT_EQ(order[1].contact, 0U);
    EXPECT_EQ(order[1].stretch, 0U);
    EXPECT_EQ(order[2].stretch, 1U);
    ProblemLog none;
    const infer::MovedLength sum = infer::moved_length(relocation, geo::UnitMap({}, 0, {}, none));
    EXPECT_DOUBLE_EQ(sum.length_m, 190);
    EXPECT_DOUBLE_EQ(sum.mean_m, 7900. / 190);
    EXPECT_DOUBLE_EQ(sum.min_m, 30);
    EXPECT_DOUBLE_EQ(sum.max_m, 90);
    EXPECT_EQ(sum.stretches, 3U);
}

// 2.5 m and 0.5 m over a kilometre of contact are 3000 m2, 0.3 ha: a hundredth of a percent of 3000 ha, one percent of
// 30 ha.
TEST(WhereContactsRun, WhatVisitsAreWorthIsSummedAndLittleIsSaidToBeLittle) {
    infer::NextStop first, second;
    first.gain_ha = 0.25;
    second.gain_ha = 0.05;
    first.contact = second.contact = 0;
    EXPECT_EQ(worth_of_visits({first, second}, 3e7),
              "All 2 together are expected to correct 0.3 of the map's 3000 ha. That is little for a walk.");
    EXPECT_EQ(worth_of_visits({first, second}, 3e5), "All 2 together are expected to correct 0.3 of the map's 30 ha.");
    EXPECT_EQ(worth_of_visits({}, 3e7), "");
}

}  // namespace
}  // namespace subcrop::publish
