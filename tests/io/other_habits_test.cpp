// Field books in another country's habits: other units, other words, other marks for an empty cell.
#include <gmock/gmock.h>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class OtherHabits : public testing::Test {
protected:
    OtherHabits() { folder_.write("map.geojson", two_squares); }

    /// Stops from CSV text with columns E and N in the map's system. `keys`: more keys of the source.
    ReadSurvey read(std::string_view stops, const std::string& keys = {}, const std::string& more = {}) {
        folder_.write("stops.csv", stops);
        return read_all(folder_, json(keys, more));
    }
    static std::string json(const std::string& keys, const std::string& more = {}) {
        return R"({"stops": {"source": "stops.csv", "x": "E", "y": "N", "crs": "EPSG:32633")" + keys + "}, " +
               two_squares_json + more + "}";
    }

    ScratchFolder folder_;
};

// An inch is 2.54 cm and a foot 0.3048 m exactly (international yard and pound agreement, 1959).
TEST_F(OtherHabits, TheSurveyFileStatesTheUnitOfDepths) {
    folder_.write("horizons.csv", "stop,top_cm,bottom_cm,jar_sand_mm,jar_silt_mm\n1,0,6.5,2.5,1\n1,6.5,20-24,,\n");
    const ReadSurvey read =
        this->read("stop,E,N,slope_deg,position_sd_m\n1,500100,5200100,100,10\n",
                   R"(, "slope_unit": "percent", "position_sd_unit": "ft")",
                   R"(, "horizons": {"source": "horizons.csv", "depth_unit": "in", "jar_unit": "cm"})");
    ASSERT_EQ(read.survey.horizons.size(), 2U);
    EXPECT_EQ(read.survey.horizons[0].top_cm, 0);
    EXPECT_EQ(read.survey.horizons[0].bottom_cm, 16.51);
    EXPECT_EQ(read.survey.horizons[0].jar_sand_mm, 25);
    EXPECT_EQ(read.survey.horizons[1].top_cm, 16.51);
    EXPECT_EQ(read.survey.horizons[1].bottom_cm, 55.88);
    EXPECT_NEAR(read.survey.horizons[1].bottom_spread_cm, 5.08, 1e-5);
    EXPECT_EQ(read.survey.stops[0].slope_deg, 45);  // atan(1)
    EXPECT_EQ(read.survey.stops[0].position_sd_m, 3.048);
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("note horizons.csv 3 bottom_cm '20-24': a range, read as its mean 22"));
}

TEST_F(OtherHabits, AUnitBehindTheNumberComesBeforeTheStatedOne) {
    const ReadSurvey read =
        this->read("stop,E,N,top_cm,bottom_cm\n1,500100,5200100,10 cm,3\n2,500200,5200100,\"1'6\"\"\",30 in\n",
                   R"(, "depth_unit": "ft")");
    EXPECT_NEAR(*read.survey.horizons[0].top_cm, 10, 1e-6);
    EXPECT_EQ(read.survey.horizons[0].bottom_cm, 91.44);
    EXPECT_EQ(read.survey.horizons[1].top_cm, 45.72);
    EXPECT_EQ(read.survey.horizons[1].bottom_cm, 76.2);
}

TEST_F(OtherHabits, MessagesEchoHerValueAndUnit) {
    const ReadSurvey read =
        this->read("stop,E,N,top_cm,bottom_cm\n1,500100,5200100,3,2\n2,500200,5200100,-1,2\n3,500300,5200100,deep,2\n",
                   R"(, "depth_unit": "ft")");
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("warning stops.csv 2 top_cm '3 ft to 2 ft': the top lies below the bottom; both depths are "
                            "left out | Depths are below the surface, top first.",
                            "warning stops.csv 3 top_cm '-1 ft': the value is below 0 cm and is left out | Correct it "
                            "or leave the cell empty.",
                            "warning stops.csv 4 top_cm 'deep': this is not a number of feet | Write digits only, or "
                            "leave the cell empty."));
}

TEST_F(OtherHabits, BoreholesInFeet) {
    folder_.write("holes.csv",
                  "hole,x,y,collar_height_m,rock_m,end_m\nB1,500100,5200100,1000,10,20\n"
                  "B2,500200,5200100,,30,20\n");
    const ReadSurvey read =
        this->read("stop,E,N\n1,500100,5200100\n", "",
                   R"(, "boreholes": {"source": "holes.csv", "x": "x", "y": "y", "crs": "EPSG:32633",
                      "depth_unit": "ft", "vertical_unit": "us-ft"})");
    ASSERT_EQ(read.survey.boreholes.size(), 2U);
    EXPECT_NEAR(*read.survey.boreholes[0].collar_height_m, 1000 * 1200.0 / 3937.0, 1e-6);  // the US survey foot
    EXPECT_EQ(read.survey.boreholes[0].rock_m, 3.048);
    EXPECT_EQ(read.survey.boreholes[0].end_m, 6.096);
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("warning holes.csv 3 rock_m '30 ft and 20 ft': the rock lies below the end of the hole; its "
                    "depth is left out | Depths are below the collar."));
}

TEST_F(OtherHabits, AColumnWhoseNameSaysItsUnit) {
    const ReadSurvey read =
        this->read("stop,E,N,Top [ft],bottom_ft,slope (%),clay (%)\n1,500100,5200100,1,2,100,20\n", "");
    ASSERT_EQ(read.survey.horizons.size(), 1U);
    EXPECT_EQ(read.survey.horizons[0].top_cm, 30.48);
    EXPECT_EQ(read.survey.horizons[0].bottom_cm, 60.96);
    EXPECT_EQ(read.survey.horizons[0].clay_pct, 20);
    EXPECT_EQ(read.survey.stops[0].slope_deg, 45);
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("note stops.csv Top [ft]: the column's name says feet; it is read so | If that is wrong, "
                            "state the unit: \"depth_unit\": \"cm\" in 'stops'.",
                            "note stops.csv bottom_ft: the column's name says feet; it is read so | If that is wrong, "
                            "state the unit: \"depth_unit\": \"cm\" in 'stops'.",
                            "note stops.csv slope (%): the column's name says percent; it is read so | If that is "
                            "wrong, state the unit: \"slope_unit\": \"deg\" in 'stops'."));
}

TEST_F(OtherHabits, AMappedColumnWhoseNameSaysItsUnit) {
    const std::string columns = R"-(, "columns": {"top_cm": "Tiefe von (m)", "bottom_cm": "Tiefe bis (m)"})-";
    const char* stops = "stop,E,N,Tiefe von (m),Tiefe bis (m)\n1,500100,5200100,\"0,2\",\"0,45\"\n";
    EXPECT_EQ(read(stops, columns).survey.horizons.at(0).bottom_cm, 45);
    const ReadSurvey stated = read(stops, columns + R"(, "depth_unit": "dm")");
    EXPECT_EQ(stated.survey.horizons.at(0).bottom_cm, 4.5);
    EXPECT_THAT(lines_of(stated.problems),
                testing::Contains("warning stops.csv Tiefe bis (m): the column's name says metres, the survey file "
                                  "decimetres; the survey file is followed | Take the key 'depth_unit' out of 'stops' "
                                  "if the column's name is right."));
}

TEST_F(OtherHabits, AColumnWithoutItsUnitIsNotReadButNamed) {
    const ReadSurvey read = this->read("stop,E,N,top,bottom,clay,texture\n1,500100,5200100,0,20,15,L\n");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("warning stops.csv bottom: this column is not read; it may be 'bottom_cm' | Add \"bottom_cm\": "
                    "\"bottom\" to stops.columns in the survey file, and \"depth_unit\" to stops if it is not in "
                    "centimetres.",
                    "warning stops.csv clay: this column is not read; it may be 'clay_pct' | Add \"clay_pct\": "
                    "\"clay\" to stops.columns in the survey file.",
                    "warning stops.csv top: this column is not read; it may be 'top_cm' | Add \"top_cm\": "
                    "\"top\" to stops.columns in the survey file, and \"depth_unit\" to stops if it is not in "
                    "centimetres."));
}

TEST_F(OtherHabits, WhatDbaseLeavesOfANameSaysNoUnit) {
    const ReadSurvey read = this->read("stop,E,N,jar_sand_m,jar_silt_m\n1,500100,5200100,20,10\n");
    EXPECT_EQ(read.survey.horizons.at(0).jar_sand_mm, 20);
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
}

TEST_F(OtherHabits, UnitsThatCannotBeAreErrorsOfTheSurveyFile) {
    folder_.write("stops.csv", "stop,E,N\n1,500100,5200100\n");
    folder_.write("horizons.csv", "stop,top_cm,bottom_cm\n1,0,2\n");
    EXPECT_THAT(error_of(folder_, json(R"(, "depth_unit": "furlong")")), HasSubstr("stops.depth_unit"));
    EXPECT_EQ(error_of(folder_, json(R"(, "depth_unit": "ft")", R"(, "horizons": {"source": "horizons.csv"})")),
              "survey.json, field stops.depth_unit: horizon columns are read from the horizon table where there is "
              "one. State "
              "the unit under 'horizons' instead.");
}

TEST_F(OtherHabits, ADashAloneIsNoValue) {
    const ReadSurvey read = this->read(
        "stop,E,N,slope_deg,unit_seen,plants,top_cm,bottom_cm,texture,colour_moist,effervescence,date\n"
        "1,500100,5200100,-,\xE2\x80\x93,-,\xE2\x80\x94,--,-,\xE2\x80\x93,-,-\n"
        "2,500200,5200100,3,Kd,heather,0,20,L,10YR 4/3,NE,2026-05-03\n");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    EXPECT_EQ(read.survey.stops[0].slope_deg, std::nullopt);
    EXPECT_EQ(read.survey.stops[0].unit_seen, model::no_unit);
    EXPECT_TRUE(read.survey.stops[0].plants.empty());
    ASSERT_EQ(read.survey.horizons.size(), 1U);  // dashes alone are no horizon
    EXPECT_EQ(read.survey.horizons[0].texture.str(), "L");
}

TEST_F(OtherHabits, WordsForNoValueAreToldOnceAColumn) {
    const ReadSurvey read = this->read(
        "stop,E,N,slope_deg,unit_seen,texture,colour_moist\n"
        "1,500100,5200100,n/a,?,nd,NA\n2,500200,5200100,nd,n/a,?,\n3,500300,5200100,?,Kd,L,n.d.\n");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("note stops.csv 2 colour_moist 'NA': 2 cells of this column say this or the like, this one first; "
                    "they are taken for empty | Nothing to do. If it means something, write it in other words.",
                    "note stops.csv 2 slope_deg 'n/a': 3 cells of this column say this or the like, this one first; "
                    "they are taken for empty | Nothing to do. If it means something, write it in other words.",
                    "note stops.csv 2 texture 'nd': 2 cells of this column say this or the like, this one first; they "
                    "are taken for empty | Nothing to do. If it means something, write it in other words.",
                    "note stops.csv 2 unit_seen '?': 2 cells of this column say this or the like, this one first; they "
                    "are taken for empty | Nothing to do. If it is a unit, add it to the legend."));
    ASSERT_EQ(read.survey.horizons.size(), 1U);  // nothing is written of the others
    EXPECT_EQ(read.survey.horizons[0].texture.str(), "L");
    EXPECT_TRUE(read.survey.horizons[0].colour_moist.empty());
}

TEST_F(OtherHabits, AUnitOrAStopMayBeCalledNa) {
    folder_.write("legend.csv", "unit,name\nKd,K\nJl,J\nNa,Natron beds\n");
    const ReadSurvey read =
        this->read("stop,E,N,unit_seen\nNA,500100,5200100,Na\n", "", R"(, "legend": {"source": "legend.csv"})");
    EXPECT_EQ(read.survey.stops[0].id, "NA");
    EXPECT_EQ(read.survey.stops[0].unit_seen, 2);
}

TEST_F(OtherHabits, ANameOfOneColumnIsNoneOfAnother) {
    const ReadSurvey read = this->read(
        "stop,E,N,traverse,effervescence,texture,clay_pct\n1,500100,5200100,nd,-,nd,10\n2,500200,5200100,nd,-,-,20\n");
    EXPECT_EQ(read.survey.stops[1].traverse.str(), "nd");
    EXPECT_EQ(read.survey.horizons[1].effervescence.str(), "-");  // some write so that it does not react
    for (const auto& horizon : read.survey.horizons) EXPECT_TRUE(horizon.texture.empty());
    EXPECT_EQ(read.problems.size(), 1U);
}

TEST_F(OtherHabits, TextThatIsNotUtf8IsToldOnceAColumn) {
    std::string stops = "stop,E,N,notes,plants\n";
    for (int i = 1; i <= 120; ++i) {
        const std::string n = std::to_string(i);
        stops += "Z\xFCrg" + n + ",500" + std::to_string(100 + i) + ",5200100,20 \xB0 dip " + n +
                 (i == 7 ? ",Stra\xDF"
                           "e\n"
                         : ",\n");
    }
    const ReadSurvey read = this->read(stops);
    EXPECT_EQ(read.survey.stops[119].id, "Z\xC3\xBCrg120");
    EXPECT_EQ(read.survey.stops[119].notes.str(), "20 \xC2\xB0 dip 120");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("note stops.csv 2 notes '20 \xC2\xB0 dip 1': 120 cells of this column are not UTF-8, this one "
                    "first; they are read as Windows-1252 (Latin-1) | Save the file as UTF-8.",
                    "note stops.csv 2 stop 'Z\xC3\xBCrg1': 120 cells of this column are not UTF-8, this one first; "
                    "they are read as Windows-1252 (Latin-1) | Save the file as UTF-8.",
                    "note stops.csv 8 plants 'Stra\xC3\x9F"
                    "e': the text is not UTF-8; read as Windows-1252 (Latin-1) | "
                    "Save the file as UTF-8."));
}

TEST_F(OtherHabits, NamesHaveTexturesReactionsAndMottles) {
    folder_.write("names.csv",
                  "kind,written,meant\ntexture,lehmiger Sand,loamy sand\nreaction,-,NE\nreaction,++,ST\n"
                  "mottles,wenig,few\nreaction,+,fizzing\nTexture,schluffig,\n");
    folder_.write("legend.csv", "unit,expected_textures,expected_reactions\nKd,lehmiger sand; SL,++\n");
    const ReadSurvey read = this->read(
        "stop,E,N,texture,effervescence,redox\n1,500100,5200100,Lehmiger Sand,++,wenig\n2,500200,5200100,L,-,\n", "",
        R"(, "names": {"source": "names.csv"}, "legend": {"source": "legend.csv"})");
    EXPECT_THAT(read.survey.units[0].expected.textures, ElementsAre("loamy sand", "SL"));
    EXPECT_THAT(read.survey.units[0].expected.reactions, ElementsAre("ST"));
    EXPECT_EQ(read.survey.horizons[1].effervescence.str(), "-");  // her word for none; kept for it
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("warning map.geojson unit 'Jl': the map's unit 'Jl' is not in the legend; it is taken as a "
                            "unit of its own | Add it to the legend or correct the map.",
                            "warning names.csv 6 meant 'reaction, +': 'fizzing' is no class of reaction to acid; the "
                            "row is left out | Write rock, mineral, landform, texture, reaction or mottles; then the "
                            "words as in the notes, and what they mean.",
                            "warning names.csv 7 meant 'Texture, schluffig': no meaning is written; the row is left "
                            "out | Write rock, mineral, landform, texture, reaction or mottles; then the words as in "
                            "the notes, and what they mean."));
}

TEST_F(OtherHabits, HorizonsSideBySideInOneRow) {
    const ReadSurvey read = this->read(
        "stop,E,N,h1_top,h1_bottom,h1_texture,h2_top,h2_bottom,h2_texture\n"
        "1,500100,5200100,20,50,CL,0,20,L\n2,500200,5200100,0,30,SL,,,\n",
        R"(, "columns": {"top_cm": "h#_top", "bottom_cm": "h#_bottom"})");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    ASSERT_EQ(read.survey.horizons.size(), 3U);
    EXPECT_EQ(read.survey.stops[0].horizon_count, 2U);
    EXPECT_EQ(read.survey.horizons[0].texture.str(), "L");  // from the top down
    EXPECT_EQ(read.survey.horizons[1].texture.str(), "CL");
    EXPECT_EQ(read.survey.stops[1].first_horizon, 2U);
    EXPECT_EQ(read.survey.stops[1].horizon_count, 1U);
    EXPECT_EQ(read.survey.horizon_columns.of("top_cm"), "h#_top");
}

TEST_F(OtherHabits, NumberedColumnsAreNamed) {
    const ReadSurvey read = this->read("stop,E,N,h1_top,h1_bottom,h2_top,h2_bottom\n1,500100,5200100,20,50,0,20\n");
    EXPECT_THAT(lines_of(read.problems),
                testing::Contains("warning stops.csv h1_top: this column is not read; it may be 'top_cm' of one of "
                                  "several horizons | Add \"top_cm\": \"h#_top\" to stops.columns in the survey file, "
                                  "and \"depth_unit\" to stops if it is not in centimetres."));
    EXPECT_EQ(read.problems.size(), 2U);
}

// echo "500000 6230000" | cs2cs -f %.3f EPSG:32632 EPSG:32631, PROJ 9.1.1
TEST_F(OtherHabits, ZonesOfUtmInAColumnOfTheirOwn) {
    folder_.write("stops.csv",
                  "stop,zone,E,N\n1,31V,500000,6230000\n2,32V,500000,6230000\n3,31,500100,6230000\n"
                  "4,,500100,6230000\n");
    const ReadSurvey read = read_all(
        folder_, R"({"crs": "EPSG:32631", "stops": {"source": "stops.csv", "x": "E", "y": "N", "zone": "zone"}})");
    ASSERT_EQ(read.survey.stops.size(), 2U);
    EXPECT_NEAR(read.survey.stops[0].position.x, 500000, 0.01);
    EXPECT_NEAR(read.survey.stops[0].position.y, 6230000, 0.01);
    EXPECT_NEAR(read.survey.stops[1].position.x, 871867.418, 0.01);
    EXPECT_NEAR(read.survey.stops[1].position.y, 6246206.895, 0.01);
    EXPECT_THAT(lines_of(read.problems),
                testing::Contains(HasSubstr("the zone of UTM lacks its half of the Earth; the stop is left out")));
    EXPECT_THAT(lines_of(read.problems),
                testing::Contains("error stops.csv 5 zone: the zone of UTM is missing; the stop is left out | Give the "
                                  "stop its position."));
}

TEST_F(OtherHabits, TheNamesOfTheColumnsInALowerRow) {
    const char* text =
        "Field notes of the valley;;;\n\nStop;East;North;Slope\nA;500100;5200100;\"12,5\"\nB;500200;5200100;x\n";
    folder_.write("stops.csv", text);
    const auto with = [&](const std::string& keys) {
        return R"({"stops": {"source": "stops.csv", "x": "East", "y": "North", "crs": "EPSG:32633")" + keys +
               R"(, "columns": {"slope_deg": "Slope"}}, )" + two_squares_json + "}";
    };
    EXPECT_THAT(error_of(folder_, with("")), HasSubstr("If the names of the columns are in a lower row, say in which: "
                                                       "\"header_row\": 3."));
    const ReadSurvey read = read_all(folder_, with(R"(, "header_row": 3)"));
    ASSERT_EQ(read.survey.stops.size(), 2U);
    EXPECT_EQ(read.survey.stops[0].row, 4);
    EXPECT_EQ(read.survey.stops[0].slope_deg, 12.5);
    EXPECT_THAT(lines_of(read.problems), ElementsAre("warning stops.csv 5 Slope 'x': this is not a number of degrees | "
                                                     "Write digits only, or leave the cell empty."));
}

TEST_F(OtherHabits, CapitalsOfAUnitDoNotMatterIfOneUnitIsMeant) {
    const ReadSurvey read =
        this->read("stop,E,N,unit_seen\n1,500100,5200100,KD\n2,500200,5200100,kd\n3,501500,5200100,Jl\n");
    for (std::size_t s : {0, 1}) EXPECT_EQ(read.survey.stops[s].unit_seen, 1);
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("note stops.csv 2 unit_seen 'KD': taken for the unit 'Kd', and 1 more of this column in the "
                    "same way, whatever their capitals | Nothing to do, unless another unit is meant."));
    folder_.write("legend.csv", "unit,name\nKd,K\nJl,J\nKD,other\n");
    const ReadSurvey both =
        this->read("stop,E,N,unit_seen\n1,500100,5200100,kd\n", "", R"(, "legend": {"source": "legend.csv"})");
    EXPECT_EQ(both.survey.stops[0].unit_seen, model::no_unit);
}

TEST_F(OtherHabits, HorizonsOfAnotherTableOfStopsAreToldTogether) {
    std::string horizons = "stop,top_cm,bottom_cm\nA1,0,20\n";
    for (int i = 1; i <= 30; ++i) horizons += "B" + std::to_string(i) + ",0,20\nB" + std::to_string(i) + ",20,40\n";
    folder_.write("horizons.csv", horizons);
    const ReadSurvey read =
        this->read("stop,E,N\nA1,500100,5200100\n", "", R"(, "horizons": {"source": "horizons.csv"})");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("error horizons.csv 3 stop: 60 horizons are left out, since no stop has one of these 30 ids: "
                    "B1, B2, B3, B4, B5 and 25 more | Is the table of stops whole? Ids must be written alike in "
                    "both tables."));
}

TEST_F(OtherHabits, ASourceIsOneFile) {
    EXPECT_EQ(error_of(folder_, R"({"stops": {"source": "T*.csv"}})"),
              "T*.csv: there is no such file. A source is one file: copy the rows of the others under those of the "
              "first.");
}

TEST_F(OtherHabits, TitleLinesOfASpreadsheet) {
    // GDAL writes the names a, b, c into row 1; they and row 2 stand for the title lines.
    constexpr const char* rows = R"({"type": "FeatureCollection", "features": [
        {"type": "Feature", "geometry": null, "properties": {"a": "Field notes", "b": null, "c": null}},
        {"type": "Feature", "geometry": null, "properties": {"a": "stop", "b": "East", "c": "North"}},
        {"type": "Feature", "geometry": null, "properties": {"a": "S1", "b": "500100,5", "c": "5200100"}},
        {"type": "Feature", "geometry": null, "properties": {"a": "S2", "b": "left", "c": "5200200"}}]})";
    for (const auto& [driver, name] : {std::pair{"XLSX", "notes.xlsx"}, std::pair{"ODS", "notes.ods"}}) {
        folder_.translate(rows, driver, name);
        const ReadSurvey read = read_all(folder_, R"({"stops": {"source": ")" + std::string(name) +
                                                      R"(", "header_row": 3, "x": "East", "y": "North",
                                                          "crs": "EPSG:32633"}, )" +
                                                      two_squares_json + "}");
        ASSERT_EQ(read.survey.stops.size(), 1U) << driver;
        EXPECT_EQ(read.survey.stops[0].id, "S1");
        EXPECT_EQ(read.survey.stops[0].row, 4) << driver;
        EXPECT_NEAR(read.survey.stops[0].position.x, 500100.5, 1e-6);
        ASSERT_EQ(read.problems.size(), 1U) << driver;
        EXPECT_EQ(read.problems[0].row, 5);
        EXPECT_EQ(read.problems[0].field, "East");
    }
}

}  // namespace
}  // namespace subcrop::io
