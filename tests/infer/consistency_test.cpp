// Views of one answer that may not contradict one another: stops, revised map, contacts, crossings, zones.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>
#include <vector>

#include "bench/few_stops_survey.hpp"
#include "bench/map_figures.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/infer/traverse.hpp"

namespace subcrop::infer {
namespace {

/// Seeds, and whether the draft is wrong: two where a stretch is found, one where it is not, one where the draft is
/// right.
class Consistency : public testing::TestWithParam<std::pair<unsigned, bool>> {
protected:
    Consistency() {
        bench::FewStopsMaker(GetParam().first).make(GetParam().second, invented);
        judged = invented.made.judge(2);
        relocation = relocate(survey(), *judged.map, judged.fit, 2, invented.made.problems);
        revised = revise_map(survey(), *judged.map, judged.fit, relocation, 2);
        crossings = cross_traverses(survey(), *judged.map, judged.fit, 2);
        review_stretches(survey(), *judged.map, judged.fit, crossings, relocation, 2);
        map = std::make_unique<geo::UnitMap>(polygons_of(revised, *judged.map), survey().units.size(),
                                             geo::UnitMapOptions{}, faults);
    }
    const model::Survey& survey() const { return invented.made.survey; }

    bench::FewStopsSurvey invented;
    InventedSurvey::Judged judged;
    Relocation relocation;
    RevisedMap revised;
    std::vector<TraverseCrossing> crossings;
    ProblemLog faults;
    std::unique_ptr<geo::UnitMap> map;
};

TEST_P(Consistency, TheRevisedMapIsWholeAndFitsItsStops) {
    EXPECT_EQ(faults.size(), 0u);  // no gap, no overlap
    double area = 0;
    for (const model::MapPolygon& polygon : judged.map->polygons()) area += geo::area_m2(polygon.polygon);
    EXPECT_NEAR(revised.area_m2 / area, 1, 1e-9);
    for (std::size_t s = 0; s < survey().stops.size(); ++s) {
        const StopFit& stop = judged.fit.stops[s];
        if (!judged.fit.calibrated || stop.p_fitted <= 0.9) continue;
        const model::Stop& at = survey().stops[s];
        const bool near = map->nearest_contact(at.position, at.position_sd_m).has_value();
        EXPECT_TRUE(near || map->unit_at(at.position) == stop.fitted_unit) << at.id;
    }
}

TEST_P(Consistency, NoContactIsSupportedThatRunsElsewhereOrIsCrossedElsewhere) {
    std::size_t elsewhere = 0;
    for (std::size_t i = 0; i < relocation.contacts.size(); ++i) {
        const Review review = review_of(relocation, i);
        if (!relocation.contacts[i].stretches.empty()) {
            EXPECT_EQ(review, Review::shift);
        }
        if (relocation.contacts[i].crossed_elsewhere > 0) {
            EXPECT_NE(review, Review::supported);
            EXPECT_NE(review, Review::untested);
        }
        elsewhere += relocation.contacts[i].crossed_elsewhere;
    }
    const auto displaced = std::count_if(crossings.begin(), crossings.end(), [](const TraverseCrossing& crossing) {
        return crossing.status == CrossingStatus::displaced &&
               (*crossing.mapped_chainage_m < crossing.low_m || *crossing.mapped_chainage_m > crossing.high_m);
    });
    EXPECT_EQ(elsewhere, static_cast<std::size_t>(displaced));
}

TEST_P(Consistency, TheStretchesOfAContactMakeItWholeAndTheWorstGivesItsWord) {
    for (std::size_t i = 0; i < relocation.contacts.size(); ++i) {
        const RelocatedContact& contact = relocation.contacts[i];
        ASSERT_FALSE(contact.parts.empty());
        double done_m = 0, misplaced_m = 0, elsewhere_m = 0;
        bool doubtful = false;
        for (const ContactStretch& part : contact.parts) {
            EXPECT_NEAR(part.from_m, done_m, 1e-6);
            done_m = part.to_m;
            if (part.review == Review::shift) misplaced_m += part.to_m - part.from_m;
            doubtful |= part.review == Review::doubtful;
            if (part.crossed_elsewhere) {
                EXPECT_NE(part.review, Review::supported);
            }
        }
        EXPECT_NEAR(done_m, judged.map->contacts()[i].length_m, 1e-6);
        for (const MovedStretch& stretch : contact.stretches) elsewhere_m += stretch.length_m;
        if (!contact.stretches.empty()) {
            EXPECT_NEAR(misplaced_m, elsewhere_m, 1e-6);
        }
        EXPECT_EQ(review_of(relocation, i) == Review::shift, misplaced_m > 0);
        if (misplaced_m == 0) {
            EXPECT_EQ(review_of(relocation, i) == Review::doubtful, doubtful);
        }
        std::size_t stops = 0;
        for (const ContactStretch& part : contact.parts) stops += part.stops;
        EXPECT_EQ(stops, judged.fit.contacts[i].stops.size());
    }
}

TEST_P(Consistency, ThePlaceOfAContactIsThatOfTheAnswer) {
    // Beside a contact as it should run, the answer gives the two sides to its units.
    for (std::size_t i = 0; i < relocation.contacts.size(); ++i) {
        const Line& line = relocated_line(relocation, *judged.map, i);
        std::vector<float> p(survey().units.size());
        const geo::Contact& contact = judged.map->contacts()[i];
        for (std::size_t k = 1; k + 1 < line.size(); k += 5) {
            judged.fit.answer.at(line[k], p);
            const float both =
                p[static_cast<std::size_t>(contact.unit_a)] + p[static_cast<std::size_t>(contact.unit_b)];
            EXPECT_GT(both, 0.8f);
            if (relocation.contacts[i].stretches.empty() || judged.fit.shift.stretches.empty()) continue;
            const float share = p[static_cast<std::size_t>(contact.unit_a)] / both;
            EXPECT_GT(share, 0.15f) << line[k].x << ' ' << line[k].y;
            EXPECT_LT(share, 0.85f) << line[k].x << ' ' << line[k].y;
        }
    }
}

TEST_P(Consistency, EveryContactOfTheRevisedMapLiesInAZone) {
    double outside = 0;
    for (const geo::Contact& contact : map->contacts())
        for (std::size_t k = 1; k < contact.line.size(); ++k) {
            const Point a = contact.line[k - 1], b = contact.line[k];
            if (!bench::in_a_zone(relocation, revised, *judged.map, contact, {(a.x + b.x) / 2, (a.y + b.y) / 2}))
                outside += distance(a, b);
        }
    EXPECT_LT(outside, 2 * judged.fit.contact_sd_m);  // shorter pieces have no zone of their own
}

INSTANTIATE_TEST_SUITE_P(FewStops, Consistency,
                         testing::Values(std::pair(1u, true), std::pair(11u, true), std::pair(17u, true),
                                         std::pair(14u, true), std::pair(16u, true), std::pair(3u, false)));

TEST(MisplacedStretch, IsNamedWithItsSizeAndItsStops) {
    bench::FewStopsSurvey invented;
    bench::FewStopsMaker maker(11);
    maker.make(true, invented);
    const auto judged = invented.made.judge(2);
    ASSERT_EQ(judged.fit.shift.stretches.size(), 1u);
    const MisplacedStretch& stretch = judged.fit.shift.stretches[0];
    EXPECT_NEAR(std::abs(stretch.shift_m), std::abs(invented.off_m), 1.645 * stretch.shift_sd_m);
    EXPECT_GT(stretch.log_odds, stretch.log_odds_without_one);
    EXPECT_GE(stretch.stops.size(), 3u);
    for (const std::uint32_t s : stretch.stops) EXPECT_LT(s, invented.made.survey.stops.size());
    double reaches = 0;
    for (std::size_t i = 1; i < stretch.drafted.size(); ++i)
        reaches += distance(stretch.drafted[i - 1], stretch.drafted[i]);
    EXPECT_GT(reaches, 0.5 * (invented.to_y - invented.from_y));
}

}  // namespace
}  // namespace subcrop::infer
