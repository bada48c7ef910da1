#include "subcrop/model/reduced.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "subcrop/model/audit.hpp"

namespace subcrop::model {
namespace {

using testing::HasSubstr;

/// One stop with the horizons added to it.
struct Profile {
    Survey survey;
    ProblemLog problems;

    Profile() {
        survey.texts = std::make_shared<TextPool>();
        survey.stop_source = "stops.csv";
        survey.horizon_source = "horizons.csv";
        survey.stops.resize(1);
        survey.stops[0].id = "A1";
        survey.stops[0].position = {100, 200};
    }
    Horizon& add(const std::string& designation) {
        Horizon horizon;
        horizon.row = static_cast<std::int64_t>(survey.horizons.size() + 1);
        horizon.designation = survey.texts->intern(designation);
        survey.horizons.push_back(horizon);
        survey.stops[0].horizon_count = static_cast<std::uint32_t>(survey.horizons.size());
        return survey.horizons.back();
    }
    Text text(const char* t) { return survey.texts->intern(t); }
    Reduced reduce() { return model::reduce(survey, problems); }
};

TEST(Reduce, WritingsOfOneColourAreOneValue) {
    Profile profile;
    profile.add("A").colour_moist = profile.text("10YR 5/6");
    profile.add("Bw").colour_moist = profile.text("10 yr 5/6");
    profile.add("C").colour_moist = profile.text("7.5YR 4/4");
    const Reduced reduced = profile.reduce();
    EXPECT_EQ(reduced.colour_moist.values.size(), 2u);
    EXPECT_EQ(reduced.colour_moist.codes[0], reduced.colour_moist.codes[1]);
    EXPECT_NE(reduced.colour_moist.codes[0], reduced.colour_moist.codes[2]);
    EXPECT_EQ(reduced.colour_moist.values[0].notation, "10YR 5/6");
    EXPECT_NEAR(reduced.colour_moist.values[0].lab.lightness, 51.0037, 1e-3);  // ASTM D1535 value 5
}

TEST(Reduce, ARangeOfColoursIsTheirMean) {
    Profile profile;
    profile.add("Bw").colour_moist = profile.text("10YR 4/4-6/4");
    const Reduced reduced = profile.reduce();
    const double low = field::to_lab({20, 4, 4}).lightness, high = field::to_lab({20, 6, 4}).lightness;
    EXPECT_NEAR(reduced.colour_moist.values.at(0).lab.lightness, (low + high) / 2, 1e-9);
}

TEST(Reduce, AnUnreadableNoteIsAProblemAndTheRestIsKept) {
    Profile profile;
    Horizon& horizon = profile.add("Bw");
    horizon.colour_moist = profile.text("10XR 5/4");
    horizon.texture = profile.text("SIL");
    const Reduced reduced = profile.reduce();
    EXPECT_EQ(reduced.colour_moist.codes[0], -1);
    EXPECT_EQ(reduced.texture.values.at(0).name, "SIL");
    const auto problems = profile.problems.sorted();
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].source, "horizons.csv");
    EXPECT_EQ(problems[0].row, 1);
    EXPECT_EQ(problems[0].field, "colour_moist");
    EXPECT_EQ(problems[0].value, "10XR 5/4");
    EXPECT_FALSE(problems[0].remedy.empty());
    EXPECT_EQ(problems[0].position, (Point{100, 200}));
}

TEST(Reduce, ZonesComeFromDesignationsElseFromDepth) {
    Profile profile;
    profile.add("Oi");
    profile.add("Ap");
    profile.add("2Bt1");
    profile.add("2Cr");
    profile.add("R");
    Horizon& deep = profile.add("");
    deep.top_cm = 90;
    deep.bottom_cm = 120;
    const Reduced reduced = profile.reduce();
    using field::Zone;
    EXPECT_THAT(reduced.zone, testing::ElementsAre(Zone::none, Zone::topsoil, Zone::subsoil, Zone::parent_material,
                                                   Zone::rock, Zone::parent_material));
    EXPECT_THAT(reduced.discontinuity, testing::ElementsAre(1, 1, 2, 2, 1, 1));
}

TEST(Audit, AProblemOfARowNamesItsStop) {
    Profile profile;
    profile.survey.stops[0].row = 2;
    profile.add("A");
    const auto problem = [](const char* source, std::int64_t row) {
        Problem result;
        result.source = source;
        result.row = row;
        return result;
    };
    Problem told = problem("stops.csv", 2);
    told.stop = "as written";
    const auto named = with_stops_named(profile.survey, {problem("stops.csv", 2), problem("horizons.csv", 1),
                                                         problem("stops.csv", 1), problem("map.gpkg", 2), told});
    std::vector<std::string> stops;
    for (const Problem& p : named) stops.push_back(p.stop);
    EXPECT_THAT(stops, testing::ElementsAre("A1", "A1", "", "", "as written"));
}

TEST(Reduce, FloodplainSoilWasProbablyCarriedThere) {
    Profile flat, hill;
    flat.survey.stops[0].landform = flat.text("floodplain");
    hill.survey.stops[0].landform = hill.text("summit");
    const Reduced low = flat.reduce(), high = hill.reduce();
    EXPECT_GT(low.p_transported[0], 0.8f);
    EXPECT_EQ(low.parent_material[0], field::ParentMaterial::alluvium);
    EXPECT_LT(high.p_transported[0], 0.2f);
    EXPECT_EQ(high.parent_material[0], field::ParentMaterial::residuum);
}

TEST(Reduce, FractionsThatDoNotSumAreRefusedWithTheRow) {
    Profile profile;
    Horizon& horizon = profile.add("Bw");
    horizon.sand_pct = 60;
    horizon.silt_pct = 40;
    horizon.clay_pct = 12;
    const Reduced reduced = profile.reduce();
    EXPECT_EQ(reduced.texture.codes[0], -1);
    const auto problems = profile.problems.sorted();
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].value, "60, 40, 12");
    EXPECT_THAT(problems[0].message, HasSubstr("112"));
}

TEST(Reduce, PlantsAreTaxaWhateverTheOrderWritten) {
    Profile profile;
    profile.survey.stops.resize(2);
    profile.survey.stops[0].plants = profile.text("heather, bracken");
    profile.survey.stops[1].plants = profile.text("Bracken; some Heather");
    const Reduced reduced = profile.reduce();
    EXPECT_EQ(reduced.plants.codes[0], reduced.plants.codes[1]);
    EXPECT_THAT(reduced.plants.values.at(0), testing::ElementsAre("bracken", "heather"));
}

TEST(Reduce, TheFigureZeroForTheLetterIsToldOnce) {
    Profile profile;
    for (int i = 0; i < 7; ++i) profile.add(i == 3 ? "0a" : "0");
    profile.add("Bw");
    profile.reduce();
    const auto problems = profile.problems.sorted();
    ASSERT_EQ(problems.size(), 1U);
    EXPECT_EQ(problems[0].severity, Severity::note);
    EXPECT_EQ(problems[0].row, 1);
    EXPECT_EQ(problems[0].field, "designation");
    EXPECT_EQ(problems[0].value, "0");
    EXPECT_EQ(problems[0].message, "the figure 0 is read as the letter O in 7 rows (1, 2, 3, 4, 5 ...)");
    EXPECT_EQ(problems[0].remedy, "Write the letter.");
}

TEST(Reduce, TheUsersWordsForTexturesReactionsAndMottles) {
    Profile profile;
    ASSERT_EQ(profile.survey.kind_names.add("texture", "lehmiger sand", "loamy sand"), "");
    ASSERT_EQ(profile.survey.kind_names.add("reaction", "-", "none"), "");
    ASSERT_EQ(profile.survey.kind_names.add("mottles", "viel", "many"), "");
    Horizon& horizon = profile.add("Bw");
    horizon.texture = profile.text("Lehmiger Sand");
    horizon.effervescence = profile.text("-");
    horizon.redox = profile.text("viel");
    const Reduced reduced = profile.reduce();
    EXPECT_EQ(reduced.texture.values.at(0).name, "LS");
    EXPECT_EQ(reduced.effervescence.values.at(0), "NE");
    EXPECT_EQ(reduced.redox.values.at(0), "many");
    EXPECT_EQ(profile.problems.size(), 0U);
}

TEST(Reduce, ADashForTheReactionIsAnEmptyCellWithoutTheUsersWord) {
    Profile profile;
    profile.add("Bw").effervescence = profile.text("-");
    EXPECT_EQ(profile.reduce().effervescence.codes.at(0), -1);
    EXPECT_EQ(profile.problems.size(), 0U);
}

TEST(Audit, SpeaksInTheUnitOfTheDepths) {
    Profile profile;
    profile.survey.horizon_columns.set_unit("top_cm", {"ft", "feet", 30.48});
    const auto add = [&](double top_ft, double bottom_ft) {
        Horizon& horizon = profile.add("Bw");
        horizon.top_cm = top_ft * 30.48;
        horizon.bottom_cm = bottom_ft * 30.48;
    };
    add(0, 1);
    add(1.5, 3);
    add(36, 48);  // inches
    audit(profile.survey, profile.reduce(), 1, profile.problems);
    const auto problems = profile.problems.sorted();
    ASSERT_EQ(problems.size(), 2U);
    EXPECT_EQ(problems[0].value, "1.5 to 3");
    EXPECT_EQ(problems[0].message, "between this horizon and that of row 1 (0 to 1 ft) 0.5 ft are missing");
    EXPECT_EQ(problems[1].message,
              "between this horizon and that of row 2 (1.5 to 3 ft) 33 ft are missing; its depths look like inches");
    EXPECT_EQ(problems[1].remedy, "Write all depths in feet.");
}

}  // namespace
}  // namespace subcrop::model
