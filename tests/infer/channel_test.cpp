#include "subcrop/infer/channel.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "infer/invented_survey.hpp"

namespace subcrop::infer {
namespace {

/// Stops whose horizons are written out, without a map.
struct Book {
    InventedSurvey invented;

    model::Stop& stop(const std::vector<model::Horizon>& horizons) {
        model::Stop& stop = invented.add_stop(0, 0, "", "");
        stop.first_horizon = static_cast<std::uint32_t>(invented.survey.horizons.size());
        stop.horizon_count = static_cast<std::uint32_t>(horizons.size());
        invented.survey.horizons.insert(invented.survey.horizons.end(), horizons.begin(), horizons.end());
        return stop;
    }
    Text text(const char* t) { return invented.survey.texts->intern(t); }
    model::Horizon horizon(const char* designation) {
        model::Horizon h;
        h.designation = text(designation);
        return h;
    }
    std::vector<Channel> channels() {
        return build_channels(invented.survey, model::reduce(invented.survey, invented.problems));
    }
};

const Channel* named(const std::vector<Channel>& channels, const std::string& name) {
    const auto found = std::find_if(channels.begin(), channels.end(), [&](const Channel& c) { return c.name == name; });
    return found == channels.end() ? nullptr : &*found;
}

std::string value(const std::vector<Channel>& channels, const std::string& name, std::size_t stop) {
    const Channel* channel = named(channels, name);
    if (!channel || channel->value_of_stop[stop] < 0) return "";
    return channel->value_text(channel->value_of_stop[stop]);
}

TEST(Channels, LitterAndWhatPeopleMovedNeverSpeak) {
    Book book;
    auto litter = book.horizon("Oi");
    litter.effervescence = book.text("VE");
    litter.minerals = book.text("calcite");
    litter.ph = 4.0;
    auto made = book.horizon("^A");
    made.colour_moist = book.text("10YR 2/1");
    made.fragments_pct = 60;
    book.stop({litter, made});
    auto real = book.horizon("Bw");
    real.effervescence = book.text("NE");
    book.stop({litter, real});
    const auto channels = book.channels();
    EXPECT_EQ(value(channels, "reaction to acid", 0), "");
    EXPECT_EQ(value(channels, "reaction to acid", 1), "none");
    for (const char* silent : {"minerals", "acidity", "fragments", "moist topsoil colour"})
        EXPECT_EQ(named(channels, silent), nullptr) << silent;
}

TEST(Channels, BelowADiscontinuityOnlyTheLowerMaterialSpeaks) {
    Book book;
    auto upper = book.horizon("Bw");
    upper.colour_moist = book.text("10YR 5/6");
    upper.minerals = book.text("mica");
    upper.ph = 5.0;
    auto lower = book.horizon("2BC");
    lower.colour_moist = book.text("5YR 4/6");
    lower.minerals = book.text("olivine; magnetite");
    lower.ph = 6.5;
    lower.fragments_pct = 30;
    lower.redox = book.text("common rusty mottles");
    book.stop({upper, lower});
    const auto channels = book.channels();
    EXPECT_EQ(named(channels, "moist subsoil colour"), nullptr);
    EXPECT_EQ(value(channels, "moist parent material colour", 0), "5YR 4/6");
    EXPECT_EQ(value(channels, "minerals", 0), "magnetite, olivine");
    EXPECT_EQ(value(channels, "acidity", 0), "pH 6.5");
    EXPECT_EQ(value(channels, "fragments", 0), "30 %");
    EXPECT_EQ(value(channels, "redoximorphic features", 0), "common");
}

TEST(Channels, TheLowestHorizonSpeaksForTheParentMaterial) {
    Book book;
    auto bc = book.horizon("BC");
    bc.colour_moist = book.text("10YR 5/6");
    auto cr = book.horizon("Cr");
    cr.colour_moist = book.text("5YR 4/6");
    book.stop({bc, cr});
    EXPECT_EQ(value(book.channels(), "moist parent material colour", 0), "5YR 4/6");
}

TEST(Channels, NoPlantSeenIsNotNoNote) {
    Book book;
    book.stop({}).plants = book.text("heather");
    book.stop({}).plants = book.text("none seen");
    book.stop({}).plants = book.text("not recorded");
    book.stop({});
    const auto channels = book.channels();
    const Channel* plants = named(channels, "plants");
    ASSERT_NE(plants, nullptr);
    EXPECT_GE(plants->value_of_stop[1], 0);
    EXPECT_EQ(value(channels, "plants", 1), "none");
    EXPECT_TRUE(plants->complete[static_cast<std::size_t>(plants->value_of_stop[1])]);
    EXPECT_EQ(plants->value_of_stop[2], -1);
    EXPECT_EQ(plants->value_of_stop[3], -1);
}

TEST(Channels, NamesOfTheUsersListAreOneTaxon) {
    Book book;
    EXPECT_EQ(book.invented.survey.plant_names.add("ling", "heather"), "");
    book.stop({}).plants = book.text("ling");
    book.stop({}).plants = book.text("heather");
    const auto channels = book.channels();
    EXPECT_EQ(named(channels, "plants")->value_of_stop[0], named(channels, "plants")->value_of_stop[1]);
}

TEST(Channels, OneThatSaysNothingLeavesTheFitAsItWas) {
    InventedSurvey before, after;
    before.add_usual_stops();
    after.add_usual_stops();
    // The same mineral everywhere tells no unit from another.
    for (model::Horizon& horizon : after.survey.horizons) horizon.minerals = after.survey.texts->intern("quartz");
    const auto a = before.judge(), b = after.judge();
    ASSERT_EQ(b.fit.channels.size(), a.fit.channels.size() + 1);
    for (std::size_t s = 0; s < a.fit.stops.size(); ++s) {
        EXPECT_NEAR(a.fit.stops[s].p_mapped, b.fit.stops[s].p_mapped, 0.002);
        EXPECT_EQ(a.fit.stops[s].verdict, b.fit.stops[s].verdict);
    }
}

TEST(Channels, OtherNamesForThePlantsChangeNothing) {
    InventedSurvey before, after;
    before.add_usual_stops();
    after.add_usual_stops();
    const char* const taxa[] = {"bracken", "heather", "sedge", "thyme"};
    const char* const renamed[] = {"thyme", "sedge", "bracken", "heather"};
    for (std::size_t s = 0; s < before.survey.stops.size(); ++s) {
        const std::size_t first = (s * 7) % 4, second = (s / 3) % 4;
        auto list = [&](const char* const* names) { return std::string(names[first]) + ", " + names[second]; };
        before.survey.stops[s].plants = before.survey.texts->intern(list(taxa));
        after.survey.stops[s].plants = after.survey.texts->intern(list(renamed));
    }
    const auto a = before.judge(), b = after.judge();
    for (std::size_t s = 0; s < a.fit.stops.size(); ++s)
        EXPECT_NEAR(a.fit.stops[s].p_mapped, b.fit.stops[s].p_mapped, 1e-5);
}

}  // namespace
}  // namespace subcrop::infer
