#include "infer/planning/contact_process.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

namespace subcrop::infer {
namespace {

constexpr double pi = 3.14159265358979323846;

ContactProcess straight(double sd = 40) {
    const Line line{{0, 0}, {0, 1000}};  // northward: left is west
    return ContactProcess(line, {.reach_m = 200}, std::array{sd});
}

/// The prior of two nodes and the likelihood of a stop, summed over a fine grid: the posterior without any
/// approximation.
struct Summed {
    double mean = 0, variance = 0, mean_there = 0, variance_there = 0;

    Summed(double sd, double correlation, double offset, double position_sd, double left, double right) {
        double all = 0, x1 = 0, x2 = 0, y1 = 0, y2 = 0;
        const double step = sd / 40;
        for (double x = -7 * sd; x <= 7 * sd; x += step) {
            const double density = std::exp(-x * x / (2 * sd * sd));
            const double p_left = 0.5 * std::erfc(-(offset - x) / position_sd / std::sqrt(2.0));
            const double w = density * (right + (left - right) * p_left);
            // given x, the other node is normal about correlation * x
            const double there = correlation * x, spread = sd * sd * (1 - correlation * correlation);
            all += w;
            x1 += w * x, x2 += w * x * x;
            y1 += w * there, y2 += w * (there * there + spread);
        }
        mean = x1 / all, variance = x2 / all - mean * mean;
        mean_there = y1 / all, variance_there = y2 / all - mean_there * mean_there;
    }
};

TEST(ContactProcess, OneStopGivesTheMomentsOfTheExactPosterior) {
    struct Case {
        double offset, position_sd, left, right;
    };
    for (const Case& c :
         {Case{25, 10, 0.9, 0.1}, Case{-60, 5, 0.3, 0.7}, Case{0, 20, 1, 0.02}, Case{70, 10, 0.05, 1}}) {
        ContactProcess contact = straight();
        ASSERT_EQ(contact.nodes().size(), 20U);
        const double apart = 4 * 50.0, correlation = std::exp(-apart * apart / (2 * 200.0 * 200.0));
        contact.hear(8, c.offset, c.position_sd, c.left, c.right);
        const Summed exact(40, correlation, c.offset, c.position_sd, c.left, c.right);
        EXPECT_NEAR(contact.mean_m(8), exact.mean, 1e-3);
        EXPECT_NEAR(contact.sd_m(8), std::sqrt(exact.variance), 1e-3);
        EXPECT_NEAR(contact.mean_m(12), exact.mean_there, 1e-3);
        EXPECT_NEAR(contact.sd_m(12), std::sqrt(exact.variance_there), 1e-3);
    }
}

TEST(ContactProcess, AStopOfTheLeftUnitPushesTheContactToTheRight) {
    ContactProcess contact = straight();
    const auto [node, offset] = contact.seat({30, 425});  // east of a contact that runs north
    EXPECT_EQ(node, 8U);
    EXPECT_DOUBLE_EQ(offset, -30);
    contact.hear(node, offset, 10, 0.95, 0.05);
    EXPECT_LT(contact.mean_m(node), -20);
    EXPECT_GT(contact.place(node).x, 20);
    EXPECT_NEAR(contact.place(node).y, 425, 1e-9);
    EXPECT_NEAR(contact.mean_m(0), std::exp(-2.0) * contact.mean_m(8), 1e-9);  // two reaches away
}

// What a visit is expected to gain is the mean, over what it may find, of what it then narrows: played through both
// findings.
TEST(ContactProcess, TheExpectedGainIsTheMeanOfWhatIsFound) {
    const double error = 0.2, discernment = (1 - 2 * error) * (1 - 2 * error);
    const ContactProcess before = straight();
    double after = 0, now = 0;
    for (const bool left : {true, false}) {  // each finding has the probability of one half at the most probable place
        ContactProcess contact = straight();
        contact.hear(10, 0, 10, left ? 1 - error : error, left ? error : 1 - error);
        for (std::size_t i = 0; i < 20; ++i) after += 0.5 * 50 * std::sqrt(2 / pi) * contact.sd_m(i);
    }
    for (std::size_t i = 0; i < 20; ++i) now += 50 * std::sqrt(2 / pi) * before.sd_m(i);
    EXPECT_NEAR(before.gain_m2(10, 10, discernment), now - after, 1e-6);
    ContactProcess planned = straight();
    planned.plan(10, 10, discernment);
    double left_over = 0;
    for (std::size_t i = 0; i < 20; ++i) left_over += 50 * std::sqrt(2 / pi) * planned.sd_m(i);
    EXPECT_NEAR(left_over, after, 1e-6);
    EXPECT_GT(before.gain_m2(10, 10, discernment), before.gain_m2(0, 10, discernment));  // the middle reaches both ways
    EXPECT_EQ(before.gain_m2(10, 10, 0), 0);                                             // soil that tells nothing
}

/// The mixture of a contact that is right within 5 m and one that is off by a normal of 40 m, and one stop, summed over
/// a fine grid.
TEST(ContactProcess, AStopMovesTheOddsThatAContactIsSimplyRightByBayes) {
    for (const double offset : {-60.0, -12.0, 0.0, 30.0}) {
        const Line line{{0, 0}, {0, 1000}};
        ContactProcess contact(line, {.reach_m = 200, .right_share = 0.4}, std::array{40.0});
        const double left = 0.85, right = 0.1, position_sd = 10, step = 0.05;
        contact.hear(8, offset, position_sd, left, right);
        double of_right = 0, of_wrong = 0, mean = 0;
        for (double x = -300; x <= 300; x += step) {
            const double likelihood =
                right + (left - right) * 0.5 * std::erfc(-(offset - x) / position_sd / std::sqrt(2.0));
            const auto density = [&](double sd) { return std::exp(-x * x / (2 * sd * sd)) / (sd * std::sqrt(2 * pi)); };
            of_right += step * 0.4 * density(5) * likelihood;
            of_wrong += step * 0.6 * density(40) * likelihood;
            mean += step * 0.6 * density(40) * likelihood * x;
        }
        EXPECT_NEAR(contact.right(8), of_right / (of_right + of_wrong), 1e-6) << offset;
        EXPECT_NEAR(contact.estimate_m(8), mean / (of_right + of_wrong), 1e-3)
            << offset;  // the right one taken as on the line
        EXPECT_NEAR(contact.place(8).x, -contact.estimate_m(8), 1e-9);
        // Four nodes off, one reach: exp(-1 / 2) of the change of the log odds.
        const auto log_odds = [](double p) { return std::log(p / (1 - p)); };
        EXPECT_NEAR(log_odds(contact.right(12)) - log_odds(0.4),
                    std::exp(-0.5) * (log_odds(contact.right(8)) - log_odds(0.4)), 1e-9);
    }
}

TEST(ContactProcess, StopsOnTheSideTheyShouldBeMakeAContactRightAndOneStopThenMovesItLittle) {
    const auto heard = [](double share, bool agree) {
        const Line line{{0, 0}, {0, 1000}};
        ContactProcess contact(line, {.reach_m = 200, .right_share = share}, std::array{40.0});
        for (std::size_t node = 1; node < 20; node += 3) {
            contact.hear(node, 15, 5, agree ? 0.95 : 0.05, agree ? 0.05 : 0.95);
            contact.hear(node, -15, 5, 0.05, 0.95);
        }
        return contact;
    };
    ContactProcess right = heard(0.5, true), open = heard(0, true);
    EXPECT_GT(right.right(10), 0.95);
    EXPECT_LT(heard(0.5, false).right(10), 0.2);
    const double before = right.estimate_m(10), before_open = open.estimate_m(10);
    right.hear(10, 0, 10, 0.05, 0.95);
    open.hear(10, 0, 10, 0.05, 0.95);
    EXPECT_LT(std::abs(right.estimate_m(10) - before), 0.3 * std::abs(open.estimate_m(10) - before_open));
    EXPECT_LT(right.gain_m2(10, 10, 0.6), open.gain_m2(10, 10, 0.6));
    EXPECT_GT(right.gain_m2(10, 10, 0.6), 0);
}

}  // namespace
}  // namespace subcrop::infer
