// The stages of the one answer, each against a case that can be reckoned by hand or was made with known errors.
#include "subcrop/infer/answer.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "infer/answer/answer_state.hpp"
#include "infer/answer/blurred_draft.hpp"
#include "infer/answer/category_field.hpp"
#include "infer/answer/contact_error.hpp"

namespace subcrop::infer {
namespace {

/// Strips of two units by turns, `width_m` wide, on 8 by 8 km.
geo::UnitMap striped_map(double width_m) {
    std::vector<model::MapPolygon> strips;
    std::size_t number = 0;
    for (double from = -4000; from < 4000; from += width_m, ++number) {
        const double to = from + width_m;
        strips.push_back({static_cast<model::UnitIndex>(number % 2),
                          static_cast<std::int64_t>(number + 1),
                          {{{from, -4000}, {to, -4000}, {to, 4000}, {from, 4000}, {from, -4000}}, {}}});
    }
    ProblemLog problems;
    return {strips, 2, {}, problems};
}

const std::vector<model::UnitIndex> both{0, 1};
double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

TEST(BlurredDraft, IsTheNormalIntegralBesideAStraightContact) {
    const geo::UnitMap map = striped_map(4000);
    BlurredDraft draft(map, both, 5, 300, 2);  // the contact runs along edges of cells
    std::array<float, 2> p{};
    const std::array<float, 2> east{0, 1};
    for (const double sd : {10.0, 30.0, 120.0}) {
        const BlurredDraft::Layer& layer = draft.layer(sd);
        for (const double d : {-2.0, -1.0, -0.3, 0.0, 0.5, 1.5}) {
            const Point place{d * sd, 700};
            layer.sample(place, p);
            EXPECT_NEAR(p[1], normal_cdf(d), 0.03) << sd << " " << d;
            EXPECT_NEAR(p[0] + p[1], 1, 1e-5);
            Point slope;
            EXPECT_NEAR(layer.dot(place, east.data(), slope), p[1], 1e-6);
            EXPECT_NEAR(slope.x * sd, std::exp(-d * d / 2) / std::sqrt(2 * M_PI), 0.06) << sd << " " << d;
            EXPECT_NEAR(slope.y * sd, 0, 1e-3);
        }
    }
    draft.layer(30).sample({9000, 0}, p);
    EXPECT_EQ(p[0] + p[1], 0);  // off the map
}

TEST(PriorMeans, GiveThePriorBackOnAverage) {
    // Mean of 1 / (1 + exp(-m - s z)) over a standard normal z by Simpson's rule on 4,001 places, s the spread.
    for (const double spread : {0.5, 2.8, 5.0}) {
        const PriorMeans means(spread);
        for (const double wanted : {0.001, 0.01, 0.2, 0.45}) {
            const auto m = static_cast<double>(means(wanted));
            double sum = 0;
            constexpr int places = 4000;
            for (int i = 0; i <= places; ++i) {
                const double z = -8 + 16.0 * i / places;
                const double weight = i == 0 || i == places ? 1 : i % 2 == 1 ? 4 : 2;
                sum += weight * std::exp(-z * z / 2) / (1 + std::exp(-m - spread * z));
            }
            EXPECT_NEAR(sum * 16.0 / places / 3 / std::sqrt(2 * M_PI) / wanted, 1, 0.02) << spread << " " << wanted;
        }
        EXPECT_EQ(means(0.5), 0);
    }
}

/// Stops within 300 m of the contacts of a striped map whose contacts each err by a normal of `error_m`; soil and
/// bedrock tell the truth.
Testimony stops_with_error(double error_m, double width_m, bool observed, unsigned seed) {
    std::mt19937 engine(seed);
    std::normal_distribution<double> error(0, error_m);
    std::uniform_real_distribution<double> off(-300, 300), along(-3900, 3900);
    Testimony t;
    t.units = 2;
    const int contacts = static_cast<int>(8000 / width_m) - 1;
    for (int i = 0; i < 1500; ++i) {
        // The error is drawn anew for each stop: each stands for a contact of its own.
        const int c = i % contacts;
        const double drafted = -4000 + width_m * (c + 1), x = drafted + off(engine);
        const bool beyond = x > drafted + error(engine);
        const int truth = (c + (beyond ? 1 : 0)) % 2;
        t.stop.push_back(static_cast<std::uint32_t>(i));
        t.place.push_back({x, along(engine)});
        t.position_sd_m.push_back(0);
        t.fold.push_back(0);
        t.observed.push_back(observed);
        t.soil_from.emplace_back();
        for (int k = 0; k < 2; ++k) {
            t.soil_below.push_back(observed || k == truth ? 0.0f : -6.0f);
            t.bedrock.push_back(!observed || k == truth ? 0.0f : -6.0f);
        }
    }
    t.soil = t.soil_below;
    return t;
}

TEST(ContactError, IsLearntFromStopsWhateverIsStated) {
    const geo::UnitMap map = striped_map(1000);
    const AnswerSettings settings;
    const auto learnt = [&](double truth, double stated, bool observed) {
        return learn_contact_error(stops_with_error(truth, 1000, observed, 4), map, both, {0.5, 0.5}, stated, settings,
                                   2);
    };
    EXPECT_NEAR(learnt(60, 40, true), 60, 9);
    EXPECT_NEAR(learnt(60, 100, true), 60, 9);
    EXPECT_NEAR(learnt(20, 100, true), 20, 6);
    EXPECT_NEAR(learnt(60, 100, false), 60, 12);
    // Without a stop near a contact it stays as stated.
    Testimony nobody;
    nobody.units = 2;
    EXPECT_NEAR(learn_contact_error(nobody, map, both, {0.5, 0.5}, 75, settings, 1), 75, 0.5);
}

std::vector<Point> lattice_of_stops(double spacing_m) {
    std::vector<Point> places;
    for (double y = 0; y <= 4000; y += spacing_m)
        for (double x = 0; x <= 4000; x += spacing_m) places.push_back({x, y});
    return places;
}

/// A class 'as moved' beside one other.
CategoryField field_of(const std::vector<Point>& places, const std::vector<float>& evidence) {
    CategoryFieldOptions options;
    options.sd = 5;
    options.reach_m = 600;
    options.classes = 2;
    options.anchors = 1;
    const PriorMeans means(5);
    options.typical_mean = means(0.01);
    return CategoryField(
        places, evidence, options,
        [&](double error_share, std::vector<float>& m) {
            for (std::size_t i = 0; i < places.size(); ++i) {
                m[2 * i] = 0;
                m[2 * i + 1] = means(std::max(error_share, 0.01));
            }
        },
        2);
}

TEST(CategoryField, SaysWhatThePriorSaysWhereNothingWasNoted) {
    const std::vector<Point> places = lattice_of_stops(250);
    const CategoryField field = field_of(places, std::vector<float>(2 * places.size(), 1.0f));
    double mean = 0;
    for (std::size_t i = 0; i < places.size(); ++i)
        mean += static_cast<double>(field.at_stops()[2 * i + 1]) / static_cast<double>(places.size());
    EXPECT_NEAR(mean, 0.01, 0.01);
}

TEST(CategoryField, FindsAnAreaOfStopsThatAgreeAndTakesASingleStopsOwnWordBack) {
    const std::vector<Point> places = lattice_of_stops(200);
    std::vector<float> evidence;
    std::size_t lone = 0, middle = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        const bool area = distance(places[i], {1400, 1400}) < 500;
        if (places[i] == Point{3200, 3200}) lone = i;
        if (places[i] == Point{1400, 1400}) middle = i;
        const bool speaks = area || i == lone;
        evidence.insert(evidence.end(), {speaks ? 0.1f : 1.0f, speaks ? 1.0f : 0.1f});
    }
    const CategoryField field = field_of(places, evidence);
    EXPECT_GT(field.at_stops()[2 * middle + 1], 0.9f);
    EXPECT_LT(field.at_stops()[2 * lone + 1], 0.05f);
    const std::array<float, 2> means{0, PriorMeans(5)(0.01)};
    std::array<float, 2> p{};
    field.at({1350, 1430}, means, p);
    EXPECT_GT(p[1], 0.9f);
    field.at({2700, 1400}, means, p);
    EXPECT_LT(p[1], 0.05f);
    EXPECT_TRUE(field.quiet({2900, 600}));
    EXPECT_FALSE(field.quiet({1400, 1400}));
}

TEST(CategoryField, IsTheSameOnAnyNumberOfThreads) {
    const std::vector<Point> places = lattice_of_stops(100);  // more than one block of stops
    std::vector<float> evidence;
    for (const Point& p : places)
        evidence.insert(evidence.end(), {1.0f, distance(p, {2000, 2000}) < 700 ? 3.0f : 0.3f});
    CategoryFieldOptions options;
    options.sd = 2;
    options.reach_m = 500;
    options.classes = 2;
    const auto flat = [](double, std::vector<float>& m) { std::fill(m.begin(), m.end(), 0.0f); };
    const CategoryField one(places, evidence, options, flat, 1), eight(places, evidence, options, flat, 8);
    EXPECT_EQ(one.at_stops(), eight.at_stops());
}

}  // namespace
}  // namespace subcrop::infer
