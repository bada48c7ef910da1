#include "infer/planning/expected_fall.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "infer/invented_survey.hpp"

namespace subcrop::infer {
namespace {

struct Asked {
    InventedSurvey invented;
    InventedSurvey::Judged judged;
    Discernments told;
    ExpectedFall fall;

    Asked()
        : judged([this] {
              invented.add_usual_stops();
              return invented.judge();
          }()),
          told(invented.survey, judged.fit),
          fall(
              *judged.map, [this](Point place, std::span<float> p) { judged.fit.answer.at(place, p); }, told, 25, 150,
              2) {}

    std::size_t least_sure() const {
        const auto& cells = fall.cells();
        return static_cast<std::size_t>(
            std::min_element(cells.begin(), cells.end(),
                             [](const auto& a, const auto& b) { return a.p_unit < b.p_unit; }) -
            cells.begin());
    }
};

/// Of the two units, the probability of the one with the higher index; `both`: their sum.
double share_of_east(const ExpectedFall::Cell& cell, double& both) {
    both = static_cast<double>(cell.p_unit) + static_cast<double>(cell.p_other);
    return static_cast<double>(cell.unit == 1 ? cell.p_unit : cell.p_other) / both;
}

TEST(ExpectedFall, AsksWhereTheContactIs) {
    const Asked asked;
    ASSERT_FALSE(asked.fall.cells().empty());
    for (const ExpectedFall::Cell& cell : asked.fall.cells()) {
        EXPECT_LT(std::abs(cell.place.x), 300);
        EXPECT_LE(cell.p_unit, 0.92F);
        EXPECT_GE(cell.p_unit, cell.p_other);
    }
}

// The model is played out: which unit lies below the visit and below each cell, and what the visit says of it.
TEST(ExpectedFall, IsTheMeanOfWhatVisitsWouldFind) {
    const Asked asked;
    const std::size_t here = asked.least_sure();
    const ExpectedFall::Cell& visit = asked.fall.cells()[here];
    double pair = 0, both = 0;
    const double q_here = share_of_east(visit, pair), right = asked.told.between(0, 1).right_share();
    EXPECT_GT(right, 0.8);
    std::mt19937_64 random(1);
    std::uniform_real_distribution<double> share(0, 1);
    double sum = 0;
    std::size_t cells = 0;
    for (const ExpectedFall::Cell& cell : asked.fall.cells()) {
        const double d = distance(cell.place, visit.place);
        if (d > 375) continue;  // there next to nothing is alike
        ++cells;
        const double q = share_of_east(cell, both), alike = std::exp(-d * d / (2 * 150.0 * 150.0));
        constexpr int played = 40000;
        double said[2]{}, east[2]{};
        for (int i = 0; i < played; ++i) {
            const double u = share(random), v = share(random) < alike ? u : share(random);
            const bool says_east = (u < q_here) == (share(random) < right);
            said[says_east] += 1;
            east[says_east] += v < q;
        }
        double after = 0;
        for (const int way : {0, 1}) after += std::min(east[way], said[way] - east[way]) / played;
        sum += pair * both * 25 * 25 * (std::min(q, 1 - q) - after);
    }
    ASSERT_GT(cells, 20U);
    EXPECT_NEAR(asked.fall.fall_m2(here), sum, 0.05 * sum);
}

TEST(ExpectedFall, IsLessOnceAVisitIsPlanned) {
    Asked asked;
    const std::size_t here = asked.least_sure();
    const Point place = asked.fall.cells()[here].place;
    std::vector<double> before;
    for (std::size_t i = 0; i < asked.fall.cells().size(); ++i) before.push_back(asked.fall.fall_m2(i));
    asked.fall.plan(here);
    EXPECT_LT(asked.fall.fall_m2(here), 0.8 * before[here]);
    for (std::size_t i = 0; i < before.size(); ++i) {
        EXPECT_LE(asked.fall.fall_m2(i), before[i]);
        if (distance(asked.fall.cells()[i].place, place) > 2 * asked.fall.reach_m() + 50) {
            EXPECT_EQ(asked.fall.fall_m2(i), before[i]);
        }
    }
}

}  // namespace
}  // namespace subcrop::infer
