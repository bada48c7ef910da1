// The examples at the head of infer's public headers, word for word: they compile, and they do what they say.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "infer/invented_survey.hpp"
#include "subcrop/infer/answer.hpp"
#include "subcrop/infer/blocks.hpp"
#include "subcrop/infer/channel.hpp"
#include "subcrop/infer/contact_stretch.hpp"
#include "subcrop/infer/disputed_area.hpp"
#include "subcrop/infer/first_map.hpp"
#include "subcrop/infer/fit.hpp"
#include "subcrop/infer/indicator_kriging.hpp"
#include "subcrop/infer/indicator_value.hpp"
#include "subcrop/infer/moved_stretch.hpp"
#include "subcrop/infer/next_stops.hpp"
#include "subcrop/infer/proposals.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/infer/shift_field.hpp"
#include "subcrop/infer/signature.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/infer/trial.hpp"
#include "subcrop/infer/unit_summary.hpp"
#include "subcrop/infer/weights.hpp"
#include "subcrop/infer/where_to_dig.hpp"

namespace subcrop::infer {
namespace {

constexpr double true_x = 60;  ///< of the contact that is drafted at x = 0
constexpr unsigned threads = 1;

/// Two units whose contact is drafted 60 m too far west. Bedrock was observed at 240 stops beside it, and at five stops
/// of a body of WES that the draft does not have. Each row of stops is a traverse.
struct WrongDraft : InventedSurvey {
    WrongDraft() {
        add_usual_stops();
        for (model::Stop& stop : survey.stops) {
            stop.traverse = survey.texts->intern("T" + std::to_string(static_cast<int>(stop.position.y)));
            stop.seq = stop.position.x;
        }
        const char* const west[] = {"5YR 4/6", "5YR 4/4", "2.5YR 4/6", "7.5YR 4/4"};
        const char* const east[] = {"5Y 5/3", "5Y 5/2", "2.5Y 5/3", "5Y 4/3"};
        for (int i = 0; i < 240; ++i) {
            const double off = 15 + 10 * (i % 4), x = i % 2 ? true_x + off : true_x - off;
            const bool is_west = x < true_x;
            add_stop(x, -1950 + 16 * i, is_west ? west[i % 4] : east[i % 4], is_west ? "L" : "C").unit_seen = !is_west;
        }
        for (int i = 0; i < 9; ++i) {
            model::Stop& stop = add_stop(920 + 80 * (i % 3), 520 + 80 * (i / 3), "5YR 4/6", "L");
            if (i % 2 == 0) stop.unit_seen = 0;
        }
    }
};

/// The same judged, once for all examples.
struct Invented {
    WrongDraft invented;
    InventedSurvey::Judged judged = invented.judge(threads);
    Relocation moved = relocate(invented.survey, *judged.map, judged.fit, threads, invented.problems);
    RevisedMap redrawn = revise_map(invented.survey, *judged.map, judged.fit, moved, threads);
};

class InferHeaderExample : public testing::Test {
protected:
    static void SetUpTestSuite() { judged_once = new Invented; }
    static void TearDownTestSuite() { delete judged_once; }
    static Invented* judged_once;

    const model::Survey& survey = judged_once->invented.survey;
    const model::Reduced& reduced = *judged_once->judged.reduced;
    const geo::UnitMap& map = *judged_once->judged.map;
    const Fit& fit = judged_once->judged.fit;
    Relocation& relocation = judged_once->moved;
    const RevisedMap& revised = judged_once->redrawn;
    ProblemLog problems;
    Progress progress;
};
Invented* InferHeaderExample::judged_once = nullptr;

TEST_F(InferHeaderExample, Answer) {
    const Point place{-500, 500};

    std::vector<float> p(survey.units.size());
    fit.answer.at(place, p);                  // one probability a unit; they sum to 1
    double sd_m = fit.answer.contact_sd_m();  // standard error of drafted contacts, learnt from the stops

    EXPECT_NEAR(p[0] + p[1], 1, 1e-6);
    EXPECT_GT(p[0], 0.9);
    EXPECT_GT(sd_m, 0);
}

TEST_F(InferHeaderExample, Channel) {
    std::vector<Channel> channels = build_channels(survey, reduced);
    const std::string& name = channels[0].name;                                // "moist subsoil colour"
    std::string value = channels[0].value_text(channels[0].value_of_stop[0]);  // "5YR 4/6"

    EXPECT_EQ(name, "moist subsoil colour");
    EXPECT_EQ(value, "5YR 4/6");
}

TEST_F(InferHeaderExample, DisputedArea) {
    std::vector<std::string> reasons;

    for (const DisputedArea& d : disputed_areas(survey, map, fit, relocation)) reasons.push_back(d.reason);

    EXPECT_EQ(reasons.size(), 1U);
}

TEST_F(InferHeaderExample, FirstMap) {
    const geo::UnitMap no_map({}, survey.units.size(), {}, problems);

    RockPrior prior = krige_rock(survey, threads);  // throws Error if too little bedrock was observed
    Fit without_draft = fit_stops(survey, reduced, no_map, threads, problems, progress, {.prior = prior.at_stops});
    FirstMap first = draw_first_map(survey, without_draft, prior, threads);
    geo::UnitMap drawn(first.polygons, survey.units.size(), {}, problems);
    Relocation contacts = place_contacts(survey, first, drawn, threads);

    EXPECT_GE(first.polygons.size(), 2U);
    EXPECT_EQ(contacts.contacts.size(), drawn.contacts().size());
    EXPECT_EQ(drawn.unit_at({true_x - 45, 0}), 0);
    EXPECT_EQ(drawn.unit_at({true_x + 45, 0}), 1);
}

TEST_F(InferHeaderExample, Fit) {
    const std::size_t i = 0;

    Fit judged = fit_stops(survey, reduced, map, threads, problems, progress);
    Verdict verdict = judged.stops[i].verdict;                                     // agrees, conflicts, ...
    std::string why = judged.reason(i);                                            // one plain sentence
    std::vector<EvidenceRow> rows = judged.evidence(i, model::EvidenceRows::top);  // channel by channel

    EXPECT_EQ(verdict, Verdict::agrees);
    EXPECT_EQ(why, fit.reason(i));
    EXPECT_FALSE(rows.empty());
}

TEST_F(InferHeaderExample, IndicatorKriging) {
    std::vector<SeenRock> seen;
    for (const model::Stop& stop : survey.stops)
        if (stop.unit_seen != model::no_unit) seen.push_back({stop.position, stop.unit_seen});
    const double cutoff_m = 1500, x = -300, y = 0;
    const std::size_t units = survey.units.size();
    std::vector<double> shares(units);

    Variogram model = fit_variogram(unit_variogram(seen, cutoff_m, 15));
    IndicatorKriging kriging(seen, units, model);
    kriging.probabilities({x, y}, shares);  // one a unit, sums to 1

    EXPECT_NEAR(shares[0] + shares[1], 1, 1e-9);
    EXPECT_GT(shares[0], 0.5);
}

TEST_F(InferHeaderExample, IndicatorValue) {
    TaxonTable table;
    table.groups = 3;
    table.taxa = 2;
    table.group_of_site = {0, 0, 1, 2};
    table.found = {{{0, 1.0}}, {{0, 1.0}, {1, 1.0}}, {}, {{1, 1.0}}};  // taxon and abundance, site by site
    std::vector<TaxonIndicator> found = indicator_values(table);
    std::size_t group = found[0].best_group;  // 0
    double p = found[0].p;                    // how often chance does as well

    EXPECT_EQ(group, 0U);
    // Taxon 0 stands at both sites of group 0 and nowhere else; of the 12 assignments of four sites to groups of 2, 1
    // and 1 these two keep its sites together.
    EXPECT_NEAR(p, 2.0 / 12, 1e-12);
}

TEST_F(InferHeaderExample, ContactStretch) {
    const std::vector<TraverseCrossing> crossings = cross_traverses(survey, map, fit, threads);
    double doubtful_m = 0;

    review_stretches(survey, map, fit, crossings, relocation, threads);  // `relocate` has done so without crossings
    for (const ContactStretch& part : relocation.contacts[0].parts)
        if (part.review == Review::doubtful) doubtful_m += part.to_m - part.from_m;

    double length_m = 0;
    for (const ContactStretch& part : relocation.contacts[0].parts) length_m += part.to_m - part.from_m;
    EXPECT_NEAR(length_m, map.contacts()[0].length_m, 1e-6);
    EXPECT_EQ(doubtful_m, 0);  // it is misplaced
    EXPECT_EQ(review_of(relocation, 0), Review::shift);
}

TEST_F(InferHeaderExample, WhereToDig) {
    std::vector<std::string> sentences;

    for (const ContactStretch& part : relocation.contacts[0].parts)
        if (const auto dig = where_to_dig(survey, map, fit, relocation, 0, part)) sentences.push_back(dig->sentence);

    ASSERT_FALSE(sentences.empty());
    // Between the drawn line and the moved one EAS is drawn, and WES lies there if the contact moves.
    EXPECT_NE(sentences[0].find("EAS if the contact is right as drawn, WES if it moves."), std::string::npos)
        << sentences[0];
}

TEST_F(InferHeaderExample, MovedStretch) {
    double furthest_m = 0;

    for (const MovedStretch& stretch : relocation.contacts[0].stretches)
        furthest_m = std::max(furthest_m, stretch.shift_m);  // mean of the stretch, with stretch.shift_sd_m
    MovedLength all = moved_length(relocation, map);         // over all contacts

    EXPECT_NEAR(furthest_m, true_x, 15);
    EXPECT_GT(all.length_m, 2000);
    EXPECT_GE(all.max_m, furthest_m);
}

TEST(HeaderExample, NextStops) {
    // The contact's south is known well by stops close to either side of it, its north is not.
    InventedSurvey invented;
    invented.add_usual_stops();
    for (double y = -1950; y < 0; y += 50) {
        const double off = (static_cast<int>(y + 1950) / 50) % 2 ? 30 : -30;
        invented.add_stop(off - 20, y, "5YR 4/6", "L").unit_seen = 0;
        invented.add_stop(off + 20, y, "5Y 5/3", "C").unit_seen = 1;
    }
    const InventedSurvey::Judged judged = invented.judge(threads);
    const model::Survey& survey = invented.survey;
    const geo::UnitMap& map = *judged.map;
    const Fit& fit = judged.fit;
    const Relocation relocation = relocate(survey, map, fit, threads, invented.problems);
    std::vector<Point> places;

    std::vector<NextStop> next = suggest_next_stops(survey, map, fit, relocation, {.count = 10}, threads);
    for (const NextStop& visit : next) places.push_back(visit.place);  // visit.purpose says why, in a sentence

    ASSERT_FALSE(places.empty());
    ASSERT_LE(places.size(), 10U);
    EXPECT_GT(places[0].y, 0);
    EXPECT_FALSE(next[0].purpose.empty());
}

TEST_F(InferHeaderExample, Proposals) {
    std::vector<std::uint8_t> accepted;

    Proposals proposals = propose(survey, map, fit, relocation, revised, threads);
    accepted.assign(proposals.changes.areas().size(), 0);  // the first, which puts most area right, is accepted:
    for (std::uint32_t area : proposals.list[0].areas) accepted[area] = 1;

    double changed_m2 = 0;
    for (const geo::CarriedOut& one : proposals.changes.carried_out(map.polygons(), accepted))
        changed_m2 += one.changed_m2;
    EXPECT_NEAR(changed_m2, proposals.list[0].area_m2, 1);
}

TEST_F(InferHeaderExample, Relocate) {
    const std::size_t i = 0;

    Relocation moved = relocate(survey, map, fit, threads, problems);
    const Line& line = relocated_line(moved, map, i);             // contact i where it should run
    double half_m = moved.contacts[i].location_confidence_m;      // 90 % half-width
    double p = moved.shifts[i].p_moved;                           // that it moved by more than its stated accuracy
    const std::vector<model::MapPolygon>& redrawn = moved.units;  // the draft redrawn

    EXPECT_NEAR(line[line.size() / 2].x, true_x, 20);
    EXPECT_GT(half_m, 0);
    EXPECT_GT(p, 0.9);
    EXPECT_EQ(redrawn.size(), 2U);
}

TEST_F(InferHeaderExample, RevisedMap) {
    RevisedMap whole = revise_map(survey, map, fit, relocation, threads);
    Polygon polygon = polygon_of(whole.units[0], map);  // whose source, probability and changed_m2 stand in it

    EXPECT_NE(whole.units[0].source, RevisedSource::as_drawn);
    EXPECT_GT(polygon.shell.size(), 5U);
    EXPECT_GT(whole.changed_m2, 0);
}

TEST_F(InferHeaderExample, ShiftField) {
    const Point x{true_x, 0}, y{0, 0};

    const ShiftField& field = fit.shift.field;
    Point u = field.displacement(x);    // posterior mean of u where it is more than chance, metres
    double sd_m = field.sd_m(x);        // its standard deviation along each axis
    Point truth = field.true_place(y);  // where the drafted point y really lies

    EXPECT_NEAR(u.x, -true_x, 15);  // the truth at x is the draft at x + u(x)
    EXPECT_GT(sd_m, 0);
    EXPECT_NEAR(truth.x, true_x, 15);
}

TEST_F(InferHeaderExample, SignatureAndWeights) {
    std::vector<Point> places;
    for (const model::Stop& stop : survey.stops) places.push_back(stop.position);
    const Blocks blocks = divide_into_blocks(places, 0, 100);
    const std::size_t units = survey.units.size();
    Training training{units, blocks.folds, blocks.fold_of_stop, std::vector<float>(places.size() * units, 0),
                      std::vector<double>(units, 0.5)};
    Judges judges;
    for (std::size_t s = 0; s < places.size(); ++s) {
        judges.push_back(places[s].x < true_x ? 0 : 1);
        training.responsibility[s * units + static_cast<std::size_t>(judges[s])] = 1;
    }
    const std::vector<std::uint16_t>& fold_of_stop = blocks.fold_of_stop;
    const std::vector<double> log_shares(units, std::log(0.5));
    const Channel channel = build_channels(survey, reduced).front();
    const std::size_t stop = 0;
    const model::UnitIndex u = 0;

    Signature signature = learn_signature(channel, training, judges, threads);
    float ln_f = signature.row(stop)[u];  // log of f_u over the average of all units, without the stop's own block

    EXPECT_GT(ln_f, 0);

    std::vector<Signature> signatures{signature};
    ChannelWeights learnt = learn_weights(signatures, judges, fold_of_stop, log_shares);

    ASSERT_EQ(learnt.weights.size(), 1U);
    EXPECT_LT(learnt.log_loss, learnt.share_log_loss);
}

TEST_F(InferHeaderExample, Traverse) {
    std::vector<TraverseCrossing> displaced;

    for (const TraverseCrossing& c : cross_traverses(survey, map, fit, threads)) {
        if (c.status != CrossingStatus::displaced) continue;
        displaced.push_back(c);  // at c.chainage_m, 90 % interval c.low_m to c.high_m, off by c.offset_m
    }

    for (const TraverseCrossing& c : displaced) EXPECT_NE(*c.offset_m, 0);
    EXPECT_EQ(order_traverses(survey).size(), 10U);
}

TEST(HeaderExample, Trial) {
    InventedSurvey invented;
    invented.add_usual_stops();
    const InventedSurvey::Judged judged = invented.judge(threads);
    const model::Survey& survey = invented.survey;
    const model::Reduced& reduced = *judged.reduced;
    const geo::UnitMap& map = *judged.map;
    Progress progress;

    Trial trial = try_draft(survey, reduced, map, {.seeds = 3}, threads, progress);
    double spoilt = trial.unwarped.spoilt;  // share of the area it would change if nothing was made wrong
    double found = trial.warped[1].found;   // average precision of the wrong stops, beside `found_by_distance`

    EXPECT_GE(spoilt, 0);
    EXPECT_GT(found, trial.warped[1].found_by_distance);
}

TEST_F(InferHeaderExample, UnitSummary) {
    std::vector<UnitSummary> units = summarise_units(survey, reduced, map, fit, relocation, {});
    std::string chip = units[0].moist.chip;                  // "5YR 4/6": the chip nearest to all that were noted
    std::string words = unit_description(survey, units[0]);  // a paragraph that says no more than the figures do

    EXPECT_EQ(chip, "5YR 4/6");
    EXPECT_NE(words.find(chip), std::string::npos);
}

}  // namespace
}  // namespace subcrop::infer
